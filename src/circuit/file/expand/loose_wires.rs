//! Wires that end in a box: capped, or forgotten.

use std::collections::HashMap;

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::BoxForm;

use super::Expansion;
use super::devices::Fittings;
use super::junction::Wire;
use super::plan::Plan;

impl<'f> Expansion<'f> {
    /// Wires without those that are capped, each by itself.
    pub(super) fn without_capped(
        &mut self,
        place: &BoxForm,
        mut wires: HashMap<String, Vec<Wire>>,
    ) -> HashMap<String, Vec<Wire>> {
        for name in place.capped.iter().flatten() {
            if wires.remove(name.as_str()).is_none() && name.written() {
                self.say(
                    Diagnostic::error(
                        "nothing-to-cap",
                        format!("no wire `{}` comes to box `{}`", name.value, place.id.value),
                        name.span.clone(),
                    )
                    .with_help("`carries: [...]` says which wires a cable has"),
                );
            }
        }
        wires
    }

    /// Says which wires end in the box without anything taking them.
    pub(super) fn nowhere(
        &mut self,
        place: &BoxForm,
        plan: &Plan<'f>,
        wires: &HashMap<String, Vec<Wire>>,
        (fittings, by_hand): (&Fittings, &HashMap<String, usize>),
    ) {
        let id = place.id.as_str();
        let lost = |name: &String, own: &Vec<Wire>| {
            let joined = own.len() > 1
                || fittings.taps.iter().any(|tap| tap.conductor == *name)
                || by_hand.contains_key(&format!("{id}.splice.{name}"));
            !joined && !plan.may_be_joined(id, name)
        };
        let mut arriving: Vec<&str> = Vec::new();
        for (name, own) in wires.iter().filter(|(name, own)| lost(name, own)) {
            match own.first().and_then(|wire| wire.next.as_deref()) {
                Some(next) => self.wire_from_nowhere(place, plan, next, name),
                None if matches!(name.as_str(), "neutral" | "ground") => {}
                None => arriving.push(name),
            }
        }
        arriving.sort_unstable();
        let (Some(first), Some(run)) = (arriving.first(), plan.arrival(id)) else { return };
        let listed: Vec<String> = arriving.iter().map(|name| format!("\"{name}\"")).collect();
        self.say_missing(
            Diagnostic::error(
                "cable-to-nowhere",
                format!(
                    "wire `{first}` of cable `{}` ends in box `{id}` and nothing takes it",
                    run.cable
                ),
                place.id.span.clone(),
            )
            .with_expected(format!(
                "a device or load that takes it, or `capped: [{}]`",
                listed.join(", ")
            )),
        );
    }

    /// Says that a cable takes along a wire that its box has not got.
    fn wire_from_nowhere(&mut self, place: &BoxForm, plan: &Plan<'f>, next: &str, name: &str) {
        let Some(run) = plan.leavings(place.id.as_str()).find(|run| run.to.id.value == next) else {
            return;
        };
        let stated = run.to.carries.iter().flatten().find(|stated| stated.value == name);
        let span = stated.map_or(run.to.id.span.clone(), |stated| stated.span.clone());
        let message = format!(
            "cable `{}` takes `{name}` along, but nothing in box `{}` has it",
            run.cable, place.id.value
        );
        let said = Diagnostic::error("wire-from-nowhere", message, span).with_expected(format!(
            "`{name}` in the cable to `{0}`, a device of `{0}` that gives it, or `capped: [\"{name}\"]` in `{0}`",
            place.id.value
        ));
        self.say_missing(match COLOURS.contains(&name) {
            true => said.with_help(
                "wires are named by what they do, whatever their colour: `hot`, `neutral`, `ground`, `switched`",
            ),
            false => said,
        });
    }
}

/// What insulation may look like.
const COLOURS: [&str; 10] =
    ["black", "white", "red", "blue", "green", "yellow", "brown", "grey", "gray", "bare"];
