//! What others build on is listed, so that a change of it is seen.
//!
//! Every `pub` item can be reached from outside: the lint `unreachable_pub` sees to that. So the
//! list is that of the `pub` items of the sources, module by module.

#![allow(clippy::unwrap_used)] // A test crate: a panic is its answer.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use quote::ToTokens;
use syn::{Attribute, Fields, ImplItem, Item, TraitItem, Visibility};

fn sources(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, into);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            into.push(path);
        }
    }
}

/// Tokens as one would write them, near enough to read.
fn words(tokens: &impl ToTokens) -> String {
    let text = tokens.to_token_stream().to_string();
    let pairs = [
        (" :: ", "::"),
        (" < ", "<"),
        (" >", ">"),
        ("& ", "&"),
        (" ,", ","),
        (" ;", ";"),
        (" :", ":"),
        ("( ", "("),
        (" )", ")"),
        (" (", "("),
        ("' ", "'"),
        ("< ", "<"),
        (":: <", "::<"),
        (" [", "["),
    ];
    pairs.iter().fold(text, |text, (from, to)| text.replace(from, to))
}

fn is_public(visibility: &Visibility) -> bool {
    matches!(visibility, Visibility::Public(_))
}

fn is_test(attributes: &[Attribute]) -> bool {
    attributes.iter().any(|one| one.path().is_ident("cfg") && words(one).contains("(test)"))
}

/// Derived traits and what else of the attributes others depend on.
fn promises(attributes: &[Attribute]) -> String {
    let kept = attributes.iter().filter(|one| {
        ["derive", "non_exhaustive", "must_use"].iter().any(|name| one.path().is_ident(name))
    });
    kept.map(|one| format!("{} ", words(&one.meta))).collect()
}

fn fields(fields: &Fields) -> String {
    let shown = fields.iter().map(|field| match (&field.ident, is_public(&field.vis)) {
        (Some(name), true) => format!("{name}: {}", words(&field.ty)),
        (None, true) => words(&field.ty),
        (_, false) => "_".to_owned(),
    });
    let shown: Vec<String> = shown.collect();
    format!("{{ {} }}", shown.join(", "))
}

/// Fields of a variant, which are as public as it is.
fn of_variant(fields: &Fields) -> String {
    let shown = fields.iter().map(|field| match &field.ident {
        Some(name) => format!("{name}: {}", words(&field.ty)),
        None => words(&field.ty),
    });
    let shown: Vec<String> = shown.collect();
    if shown.is_empty() { String::new() } else { format!("({})", shown.join(", ")) }
}

fn list(items: &[Item], found: &mut Vec<String>) {
    for item in items {
        match item {
            Item::Struct(one) if is_public(&one.vis) => found.push(format!(
                "{}struct {}{} {}",
                promises(&one.attrs),
                one.ident,
                words(&one.generics),
                fields(&one.fields)
            )),
            Item::Enum(one) if is_public(&one.vis) => {
                let variants = one.variants.iter();
                let variants: Vec<String> =
                    variants.map(|v| format!("{}{}", v.ident, of_variant(&v.fields))).collect();
                let (promises, variants) = (promises(&one.attrs), variants.join(", "));
                found.push(format!("{promises}enum {} {{ {variants} }}", one.ident));
            }
            Item::Fn(one) if is_public(&one.vis) && !is_test(&one.attrs) => {
                found.push(words(&one.sig));
            }
            Item::Const(one) if is_public(&one.vis) => {
                found.push(format!("const {}: {}", one.ident, words(&one.ty)));
            }
            Item::Type(one) if is_public(&one.vis) => {
                found.push(format!("type {} = {}", one.ident, words(&one.ty)));
            }
            Item::Mod(one) if is_public(&one.vis) => found.push(format!("mod {}", one.ident)),
            Item::Use(one) if is_public(&one.vis) => {
                found.push(format!("use {}", words(&one.tree)));
            }
            Item::Trait(one) if is_public(&one.vis) => {
                found.push(format!("trait {}", one.ident));
                let methods = one.items.iter().filter_map(|item| match item {
                    TraitItem::Fn(method) => Some(words(&method.sig)),
                    _ => None,
                });
                found.extend(methods.map(|method| format!("{}::{method}", one.ident)));
            }
            Item::Impl(one) => {
                let of = words(&one.self_ty);
                let methods = one.items.iter().filter_map(|item| match item {
                    ImplItem::Fn(method) if is_public(&method.vis) => Some(words(&method.sig)),
                    ImplItem::Const(one) if is_public(&one.vis) => {
                        Some(format!("const {}: {}", one.ident, words(&one.ty)))
                    }
                    _ => None,
                });
                found.extend(methods.map(|method| format!("{of}::{method}")));
            }
            _ => {}
        }
    }
}

#[test]
fn what_others_build_on_is_as_listed() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    files.sort();
    let mut listed = String::new();
    for file in files {
        let name = file.strip_prefix(&root).unwrap().with_extension("");
        let parts: Vec<&str> = name.iter().map(|part| part.to_str().unwrap()).collect();
        if ["main", "command"].contains(&parts[0]) {
            continue;
        }
        let mut found = Vec::new();
        list(&syn::parse_file(&fs::read_to_string(&file).unwrap()).unwrap().items, &mut found);
        found.sort();
        if !found.is_empty() {
            writeln!(listed, "{}\n    {}", parts.join("::"), found.join("\n    ")).unwrap();
        }
    }
    insta::assert_snapshot!(listed);
}
