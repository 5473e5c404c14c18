//! What a family file says that no circuit can be drawn from.

use std::collections::HashMap;

use crate::circuit::Configuration;
use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::{Node, Sink, Value, with_nearest};
use crate::instrument::file::value_at;

use super::form::{BreakerChoice, FamilyForm, Number, Range, Text};

/// Boxes in one circuit that is drawn.
const BOXES_MAX: f64 = 60.0;

/// Branch circuits of one.
const CIRCUITS_MAX: f64 = 4.0;

/// Longest cable between two boxes, metres or feet.
const LENGTH_MAX: f64 = 500.0;

/// Largest power of one load, watts.
const WATTS_MAX: f64 = 20_000.0;

/// Rated residual currents that circuit files take, milliamperes.
const RESIDUAL_MILLIAMPERES: (f64, f64) = (0.5, 30_000.0);

/// Names with a meaning of their own in circuit files, or taken by what is drawn.
const RESERVED: [&str; 5] = ["earth", "panel", "xf", "service", "transformer"];

pub(super) fn check(form: &FamilyForm, root: &Node, sink: &mut Sink) {
    let mut check = Check { root, sink };
    check.some(&form.buildings, &form.name, "buildings", "a kind of building");
    check.names(&form.box_names, "box");
    let loads: Vec<Text> = form.loads.iter().map(|load| load.name.clone()).collect();
    check.names(&loads, "load");
    check.numbers(form);
    check.lengths(form);
    check.choices(form);
    for load in &form.loads {
        if let Some(taken) = form.box_names.iter().find(|name| **name == load.name) {
            let diagnostic = Diagnostic::error(
                "name-taken",
                format!("`{}` is the name of a box too", load.name.value),
                load.name.span.clone(),
            );
            check.sink.say(diagnostic.with_label(taken.span.clone(), "first here"));
        }
    }
}

struct Check<'c> {
    root: &'c Node,
    sink: &'c mut Sink,
}

impl Check<'_> {
    fn bad(&mut self, code: &'static str, at: &Number, message: String, expected: &str) {
        let diagnostic = Diagnostic::error(code, message, at.span.clone());
        self.sink.say(diagnostic.with_expected(expected.to_owned()));
    }

    fn some<T>(&mut self, list: &[T], beside: &Text, field: &str, what: &str) {
        // What is missing or unreadable is empty too, and has been said.
        let is_written = value_at(self.root, field)
            .is_some_and(|written| matches!(written.value, Value::List(_)));
        if list.is_empty() && is_written {
            let message = format!("`{field}` is empty");
            let diagnostic = Diagnostic::error("empty-list", message, beside.span.clone());
            self.sink.say(diagnostic.saying("of this family").with_expected(what.to_owned()));
        }
    }

    fn range(&mut self, range: &Range, (least, most): (f64, f64)) {
        let expected = format!("from {least} to {most}");
        for end in [&range.0, &range.1] {
            if !(least..=most).contains(&end.value) {
                let message = format!("{} is out of bounds here", end.value);
                self.bad("out-of-bounds", end, message, &expected);
            }
        }
        if range.0.value > range.1.value {
            let message = "the lower figure comes first".to_owned();
            self.bad("range-upside-down", &range.0, message, "(lowest, highest)");
        }
    }

    fn whole(&mut self, range: &Range, bounds: (f64, f64)) {
        self.range(range, bounds);
        for end in [&range.0, &range.1] {
            if end.value.fract().abs() > 0.0 {
                let message = format!("{} is not a whole number", end.value);
                self.bad("not-whole", end, message, "a whole number");
            }
        }
    }

    fn share(&mut self, share: &Option<Number>) {
        if let Some(share) = share
            && !(0.0..=1.0).contains(&share.value)
        {
            let message = format!("{} is no share", share.value);
            self.bad("out-of-bounds", share, message, "from 0 to 1, as 0.3 for three in ten");
        }
    }

    /// Weights of a list, of which one at least must be above none.
    fn weights<'n>(&mut self, weights: impl Iterator<Item = &'n Option<Number>>) {
        let (mut any, mut last) = (false, None);
        for weight in weights {
            any |= weight.as_ref().is_none_or(|weight| weight.value > 0.0);
            if let Some(weight) = weight {
                if !(0.0..=1e6).contains(&weight.value) {
                    let message = format!("{} is no weight", weight.value);
                    self.bad("out-of-bounds", weight, message, "from 0 to 1000000");
                }
                last = Some(weight);
            }
        }
        if let (false, Some(last)) = (any, last) {
            let message = "nothing in this list can be drawn".to_owned();
            self.bad("no-weight", last, message, "a weight above 0 somewhere in the list");
        }
    }

    fn numbers(&mut self, form: &FamilyForm) {
        self.whole(&form.boxes, (1.0, BOXES_MAX));
        if let Some(circuits) = &form.circuits {
            self.whole(circuits, (1.0, CIRCUITS_MAX));
            if circuits.1.value > form.boxes.0.value {
                let message = "there may be fewer boxes than circuits".to_owned();
                self.bad("too-few-boxes", &form.boxes.0, message, "a box for each circuit");
            }
        }
        if let Some(present) = &form.loads_present {
            self.whole(present, (0.0, BOXES_MAX));
        }
        for share in [&form.branches, &form.push_in, &form.feed_through, &form.no_ground] {
            self.share(share);
        }
        if (form.box_names.len() as f64) < form.boxes.1.value {
            let message = format!("there are {} names for the boxes", form.box_names.len());
            self.bad("too-few-names", &form.boxes.1, message, "a name in `box_names` for each box");
        }
    }

    fn lengths(&mut self, form: &FamilyForm) {
        let lengths = [&form.feet, &form.metres, &form.feet_first, &form.metres_first];
        for range in lengths.into_iter().flatten() {
            self.range(range, (0.5, LENGTH_MAX));
        }
        let beside = &form.name;
        let mut say = |message: &str, expected: &str| {
            let diagnostic = Diagnostic::error("lengths", message, beside.span.clone());
            self.sink.say(diagnostic.saying("of this family").with_expected(expected.to_owned()));
        };
        match (&form.feet, &form.metres) {
            (None, None) => say("no length between boxes is stated", "`feet` or `metres`"),
            (Some(_), Some(_)) => say("lengths are stated twice", "`feet` or `metres`, not both"),
            (Some(_), None) if form.metres_first.is_some() => {
                say("lengths are in feet and in metres", "`feet_first` beside `feet`");
            }
            (None, Some(_)) if form.feet_first.is_some() => {
                say("lengths are in feet and in metres", "`metres_first` beside `metres`");
            }
            _ => {}
        }
    }

    fn choices(&mut self, form: &FamilyForm) {
        self.some(&form.breakers, &form.name, "breakers", "a breaker with its cables");
        self.some(&form.loads, &form.name, "loads", "something to plug in");
        self.weights(form.breakers.iter().map(|breaker| &breaker.weight));
        self.weights(form.loads.iter().map(|load| &load.weight));
        for breaker in &form.breakers {
            self.breaker(breaker);
        }
        if let Some(ages) = &form.ages {
            self.some(ages, &form.name, "ages", "when its buildings were wired");
        }
        if let Some(supplies) = &form.supplies {
            self.some(supplies, &form.name, "supplies", "a supply");
            self.weights(supplies.iter().map(|supply| &supply.weight));
            for supply in supplies {
                supply.volts.iter().for_each(|volts| self.range(volts, (50.0, 300.0)));
                self.residual(&supply.ground_fault_milliamperes);
            }
        }
        if let Some(devices) = &form.devices {
            self.some(devices, &form.name, "devices", "what is in the boxes");
            self.weights(devices.iter().map(|device| &device.weight));
        }
        for load in &form.loads {
            self.range(&load.watts, (1.0, WATTS_MAX));
            self.share(&load.on);
            if let Some(filter) = &load.filter_nanofarads {
                self.range(&(filter.clone(), filter.clone()), (0.0, 1000.0));
            }
        }
        if let Some(configuration) = &form.configuration
            && configuration.written()
            && Configuration::named(configuration.as_str()).is_none()
        {
            let message = format!("no receptacle is called `{}`", configuration.value);
            let diagnostic =
                Diagnostic::error("unknown-configuration", message, configuration.span.clone());
            let known: Vec<&str> = Configuration::all().iter().map(|known| known.name).collect();
            self.sink.say(with_nearest(diagnostic, configuration.as_str(), &known));
        }
    }

    fn residual(&mut self, milliampere: &Option<Number>) {
        if let Some(stated) = milliampere {
            self.range(&(stated.clone(), stated.clone()), RESIDUAL_MILLIAMPERES);
        }
    }

    fn breaker(&mut self, breaker: &BreakerChoice) {
        self.residual(&breaker.ground_fault_milliamperes);
        self.range(&(breaker.amperes.clone(), breaker.amperes.clone()), (1.0, 125.0));
        if breaker.cables.is_empty() {
            let message = "no cable goes with this breaker";
            let said = Diagnostic::error("empty-list", message, breaker.amperes.span.clone());
            self.sink.say_missing(said.with_expected("`cables: [(awg: 12)]`"));
        }
        for cable in &breaker.cables {
            if cable.awg.is_some() == cable.mm2.is_some() {
                let message = "a cable has one size".to_owned();
                self.bad("size", &breaker.amperes, message, "`awg` or `mm2` for each cable");
            } else if let Err(why) = super::super::building::try_cable(breaker, cable) {
                let span = match (&cable.awg, &cable.mm2) {
                    (Some(awg), _) => awg.span.clone(),
                    (_, Some(mm2)) => mm2.span.clone(),
                    _ => breaker.amperes.span.clone(),
                };
                self.sink.say(Diagnostic::error("cable", why, span));
            }
        }
    }

    /// Names as circuit files want them, each once.
    fn names(&mut self, names: &[Text], what: &str) {
        let mut first: HashMap<&str, &Text> = HashMap::new();
        for name in names.iter().filter(|name| name.written()) {
            let text = name.as_str();
            let good = text.starts_with(|c: char| c.is_ascii_lowercase())
                && text.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
                && !RESERVED.contains(&text)
                && !is_breaker(text)
                && text.len() <= 24;
            if !good {
                let message = format!("`{text}` is no name for a {what} of a family");
                let diagnostic = Diagnostic::error("name-form", message, name.span.clone());
                self.sink.say(diagnostic.with_expected(
                    "up to 24 small letters, digits and `-`, as \"side-door\"; not c1, c2, panel",
                ));
            }
            if let Some(other) = first.insert(text, name) {
                let message = format!("there is already a {what} called `{text}`");
                let diagnostic = Diagnostic::error("name-taken", message, name.span.clone());
                self.sink.say(diagnostic.with_label(other.span.clone(), "first here"));
            }
        }
    }
}

/// Names that the breakers of a drawn circuit have.
fn is_breaker(name: &str) -> bool {
    name.strip_prefix('c').is_some_and(|rest| rest.parse::<u8>().is_ok())
}
