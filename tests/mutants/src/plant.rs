//! Puts every mutant of a file behind a question which mutant is on.
//!
//! Operands are evaluated once, whichever mutant is on, so that the text grows with the mutants and
//! not with their depth.

use std::collections::BTreeMap;

use proc_macro2::{LineColumn, Span};
use quote::quote;
use syn::spanned::Spanned;
use syn::visit_mut::{self, VisitMut};
use syn::{Arm, BinOp, Block, Expr, ExprBinary, ExprStruct, ExprUnary, UnOp, parse_quote};

use crate::listed::{Genre, Mutant};

/// Mutants by where they start, and those that were planted.
pub struct Planter<'a> {
    here: BTreeMap<(usize, usize, Genre), Vec<&'a Mutant>>,
    pub planted: Vec<u32>,
}

fn arm(mutant: &Mutant, then: &Expr) -> proc_macro2::TokenStream {
    let number = mutant.number;
    quote!(#number => #then,)
}

/// `match crate::mutant::at(site) { 7u32 => …, _ => otherwise }`.
fn choice(mutants: &[&Mutant], then: impl Fn(&Mutant) -> Option<Expr>, otherwise: &Expr) -> Expr {
    let arms = mutants.iter().filter_map(|mutant| Some(arm(mutant, &then(mutant)?)));
    let site = mutants[0].number;
    parse_quote!((match crate::mutant::at(#site) { #(#arms)* _ => #otherwise }))
}

fn has_let(expression: &Expr) -> bool {
    match expression {
        Expr::Let(_) => true,
        Expr::Binary(binary) => has_let(&binary.left) || has_let(&binary.right),
        _ => false,
    }
}

impl<'a> Planter<'a> {
    pub fn new(mutants: impl IntoIterator<Item = &'a Mutant>) -> Self {
        let mut here: BTreeMap<_, Vec<_>> = BTreeMap::new();
        for mutant in mutants {
            let start = &mutant.span.start;
            here.entry((start.line, start.column, mutant.genre)).or_default().push(mutant);
        }
        Self { here, planted: Vec::new() }
    }

    fn take(&mut self, at: LineColumn, genre: Genre) -> Vec<&'a Mutant> {
        let found = self.here.remove(&(at.line, at.column + 1, genre)).unwrap_or_default();
        self.planted.extend(found.iter().map(|mutant| mutant.number));
        found
    }

    fn binary(&mut self, binary: &ExprBinary) -> Option<Expr> {
        if has_let(&binary.left) || has_let(&binary.right) {
            return None;
        }
        let mutants = self.take(binary.op.span().start(), Genre::BinaryOperator);
        let (left, right, op) = (&binary.left, &binary.right, &binary.op);
        if mutants.is_empty() {
            return None;
        }
        let other = |mutant: &Mutant| syn::parse_str::<BinOp>(&mutant.replacement).ok();
        Some(match op {
            BinOp::And(_) | BinOp::Or(_) => {
                let (site, ends) = (mutants[0].number, matches!(op, BinOp::Or(_)));
                parse_quote!((match (#left) {
                    __l => if __l ^ (#ends ^ (crate::mutant::at(#site) == #site)) { #right } else { __l },
                }))
            }
            BinOp::Eq(_)
            | BinOp::Ne(_)
            | BinOp::Lt(_)
            | BinOp::Le(_)
            | BinOp::Gt(_)
            | BinOp::Ge(_) => {
                let then = choice(
                    &mutants,
                    |mutant| other(mutant).map(|op| parse_quote!(*__l #op *__r)),
                    &parse_quote!(*__l #op *__r),
                );
                parse_quote!((match (&(#left), &(#right)) { (__l, __r) => #then }))
            }
            _ if is_assignment(op) => {
                let then = choice(
                    &mutants,
                    |mutant| other(mutant).map(|op| parse_quote!(#left #op __r)),
                    &parse_quote!(#left #op __r),
                );
                parse_quote!((match (#right) { __r => #then }))
            }
            _ => {
                let then = choice(
                    &mutants,
                    |mutant| other(mutant).map(|op| parse_quote!(__l #op __r)),
                    &parse_quote!(__l #op __r),
                );
                parse_quote!((match ((#left), (#right)) { (__l, __r) => #then }))
            }
        })
    }

    fn unary(&mut self, unary: &ExprUnary) -> Option<Expr> {
        let op: Span = match unary.op {
            UnOp::Not(op) => op.span(),
            UnOp::Neg(op) => op.span(),
            _ => return None,
        };
        let mutants = self.take(op.start(), Genre::UnaryOperator);
        let (inner, op) = (&unary.expr, &unary.op);
        (!mutants.is_empty()).then(|| {
            let then = choice(&mutants, |_| Some(parse_quote!(__v)), &parse_quote!(#op __v));
            parse_quote!((match (#inner) { __v => #then }))
        })
    }
}

fn is_assignment(op: &BinOp) -> bool {
    use BinOp::*;
    matches!(
        op,
        AddAssign(_)
            | SubAssign(_)
            | MulAssign(_)
            | DivAssign(_)
            | RemAssign(_)
            | BitXorAssign(_)
            | BitAndAssign(_)
            | BitOrAssign(_)
            | ShlAssign(_)
            | ShrAssign(_)
    )
}

impl VisitMut for Planter<'_> {
    fn visit_expr_mut(&mut self, expression: &mut Expr) {
        visit_mut::visit_expr_mut(self, expression);
        let planted = match &*expression {
            Expr::Binary(binary) => self.binary(binary),
            Expr::Unary(unary) => self.unary(unary),
            _ => None,
        };
        if let Some(planted) = planted {
            *expression = planted;
        }
    }

    fn visit_arm_mut(&mut self, arm: &mut Arm) {
        let deleted = self.take(arm.pat.span().start(), Genre::MatchArm);
        let guarded = match &arm.guard {
            Some((_, guard)) => self.take(guard.span().start(), Genre::MatchArmGuard),
            None => Vec::new(),
        };
        visit_mut::visit_arm_mut(self, arm);
        if let (Some((_, guard)), false) = (&mut arm.guard, guarded.is_empty()) {
            let then = |mutant: &Mutant| syn::parse_str(&mutant.replacement).ok();
            **guard = choice(&guarded, then, guard);
        }
        if !deleted.is_empty() {
            let guard: Expr = match &arm.guard {
                Some((_, guard)) => parse_quote!(#guard),
                None => parse_quote!(true),
            };
            let planted = choice(&deleted, |_| Some(parse_quote!(false)), &guard);
            arm.guard = Some((Default::default(), Box::new(planted)));
        }
    }

    fn visit_expr_struct_mut(&mut self, made: &mut ExprStruct) {
        let fields: Vec<_> = made
            .fields
            .iter()
            .map(|field| self.take(field.span().start(), Genre::StructField))
            .collect();
        visit_mut::visit_expr_struct_mut(self, made);
        let (path, rest) = (made.path.clone(), made.rest.clone());
        for (field, mutants) in made.fields.iter_mut().zip(fields) {
            let (Some(rest), false) = (&rest, mutants.is_empty()) else { continue };
            let (name, value) = (field.member.clone(), field.expr.clone());
            let other: Expr = match **rest {
                Expr::Path(_) | Expr::Unary(_) | Expr::Field(_) => parse_quote!((#rest).#name),
                _ => parse_quote!({ let __rest: #path = #rest; __rest.#name }),
            };
            field.colon_token = Some(Default::default());
            field.expr = choice(&mutants, |_| Some(other.clone()), &value);
        }
    }

    fn visit_block_mut(&mut self, block: &mut Block) {
        let values = match block.stmts.first() {
            Some(first) => self.take(first.span().start(), Genre::FnValue),
            None => Vec::new(),
        };
        visit_mut::visit_block_mut(self, block);
        if !values.is_empty() {
            let then = |mutant: &Mutant| {
                let value: Expr = syn::parse_str(&mutant.replacement).ok()?;
                Some(parse_quote!(return #value))
            };
            let planted = choice(&values, then, &parse_quote!({}));
            block.stmts.insert(0, parse_quote!(#planted;));
        }
    }
}
