//! Names: how they are written, and that each stands for one thing.

use std::collections::HashMap;

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::Text;
use crate::circuit::file::tree::Span;

use super::Expansion;

/// Names with a meaning of their own.
const RESERVED: [&str; 5] = ["earth", "panel", "xf", "service", "transformer"];

/// Words that stand in the addresses of a box itself.
const RESERVED_IN_BOX: [&str; 17] = [
    "line", "load", "splice", "pigtail", "tail", "screw", "strap", "through", "tab", "contact",
    "face", "gf", "top", "bottom", "hot", "neutral", "ground",
];

impl Expansion<'_> {
    pub(super) fn names(&mut self) {
        let form = self.form;
        for circuit in &form.circuits {
            self.name(&circuit.id, "circuit");
        }
        for subpanel in &form.subpanels {
            self.name(&subpanel.id, "subpanel");
        }
        for place in &form.boxes {
            self.name(&place.id, "box");
        }
        for cable in &form.cables {
            self.name(&cable.id, "cable");
        }
        for load in &form.loads {
            self.name(&load.id, "load");
        }
        for lumped in &form.lumped {
            self.name(&lumped.id, "lumped part");
        }
        for link in &form.links {
            self.name(&link.id, "link");
        }
        let mut conditions: HashMap<&str, &Span> = HashMap::new();
        for name in form.conditions.iter().map(|condition| &condition.name) {
            if let Some(first) = conditions.insert(name.as_str(), &name.span) {
                self.say(
                    Diagnostic::error(
                        "name-taken",
                        format!("there is already a condition called `{}`", name.value),
                        name.span.clone(),
                    )
                    .with_label(first.clone(), "first here"),
                );
            }
        }
    }

    /// Takes a name for a thing of `kind`; says if it is taken or badly written.
    pub(super) fn name(&mut self, id: &Text, kind: &'static str) {
        if !id.written() {
            return;
        }
        self.name_form(id);
        if let Some((first, "box")) = self.names.get(id.as_str())
            && kind == "box"
        {
            let diagnostic = Diagnostic::error(
                "two-cables-to-one-box",
                format!("box `{}` stands here twice, with a cable each", id.value),
                id.span.clone(),
            )
            .with_label(first.clone(), "first here")
            .with_help("one cable feeds a box; a second that comes to it is written in `cables`");
            self.say(diagnostic);
            return;
        }
        if let Some((first, other)) = self.names.get(id.as_str()) {
            let diagnostic = Diagnostic::error(
                "name-taken",
                format!("there is already a {other} called `{}`", id.value),
                id.span.clone(),
            )
            .with_label(first.clone(), "first here")
            .with_help("every circuit, box, cable, device and load needs a name of its own");
            self.say(diagnostic);
            return;
        }
        self.names.insert(id.value.clone(), (id.span.clone(), kind));
    }

    fn name_form(&mut self, id: &Text) {
        let text = id.as_str();
        if RESERVED.contains(&text) {
            self.reserved(id);
            return;
        }
        self.spelling(id);
    }

    /// A device's name in its box: written like any other, and no word of the box's addresses.
    pub(super) fn device_name(&mut self, id: &Text) {
        if RESERVED_IN_BOX.contains(&id.as_str()) || id.as_str().starts_with("load-") {
            self.reserved(id);
        } else if id.written() {
            self.spelling(id);
        }
    }

    fn reserved(&mut self, id: &Text) {
        self.say(
            Diagnostic::error(
                "name-reserved",
                format!("`{}` is a name with a meaning of its own", id.value),
                id.span.clone(),
            )
            .with_help("choose another name"),
        );
    }

    /// Says how a name is written, if it is not.
    fn spelling(&mut self, id: &Text) {
        let text = id.as_str();
        let well_begun = text.starts_with(|c: char| c.is_ascii_lowercase());
        let well_made = text
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || matches!(c, '_' | '-'));
        if well_begun && well_made {
            return;
        }
        let better: String = text
            .to_lowercase()
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() { c } else { '_' })
            .skip_while(|c| !c.is_ascii_lowercase())
            .collect();
        let diagnostic =
            Diagnostic::error("name-form", format!("`{text}` cannot be a name"), id.span.clone())
                .with_expected("a small letter, then small letters, digits, `-` or `_`");
        self.respelt.insert(better.clone());
        self.say(if better.is_empty() {
            diagnostic
        } else {
            diagnostic
                .with_help(format!("`{better}` would do"))
                .with_replacement(format!("\"{better}\""))
        });
    }

    /// Takes the name that a cable to `place` gets by itself.
    pub(super) fn automatic_name(&mut self, cable: &str, place: &Text) {
        let taken = (place.span.clone(), "cable");
        if let Some((first, other)) = self.names.insert(cable.to_owned(), taken)
            && place.written()
        {
            self.say(
                Diagnostic::error(
                    "cable-name-taken",
                    format!(
                        "the cable to `{}` is called `{cable}`, as is another {other}",
                        place.value
                    ),
                    place.span.clone(),
                )
                .with_label(first, "here")
                .with_expected("`cable_id: ` and another name for it"),
            );
        }
    }

    /// Says that `written` is no name of a thing of the `wanted` kinds.
    pub(super) fn unknown_name(&mut self, written: &Text, wanted: &[&str]) {
        if !written.written() {
            return;
        }
        if self.sink.is_full() {
            self.say(Diagnostic::error("unknown-name", "", written.span.clone()));
            return;
        }
        let kinds = wanted.join(" or ");
        let mut known: Vec<&str> = self
            .names
            .iter()
            .filter(|(_, (_, kind))| wanted.contains(kind))
            .map(|(name, _)| name.as_str())
            .collect();
        known.sort_unstable();
        let diagnostic = Diagnostic::error(
            "unknown-name",
            format!("there is no {kinds} called `{}`", written.value),
            written.span.clone(),
        )
        .with_expected(if known.is_empty() {
            format!("the name of a {kinds}")
        } else {
            format!("one of {}", quoted_list(&known))
        });
        let diagnostic =
            crate::circuit::file::near::with_nearest(diagnostic, written.as_str(), &known);
        self.say_unknown(written, diagnostic);
    }
}

/// At most so many names are listed.
const LISTED_MAX: usize = 12;

/// The names in quotes, the first few of many.
pub(super) fn quoted_list(names: &[&str]) -> String {
    let mut listed: Vec<String> =
        names.iter().take(LISTED_MAX).map(|name| format!("\"{name}\"")).collect();
    if names.len() > LISTED_MAX {
        listed.push(format!("{} more", names.len() - LISTED_MAX));
    }
    listed.join(", ")
}
