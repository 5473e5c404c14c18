//! Figures that no call-out can have.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::{Node, Sink, Value};
use crate::instrument::file::{check_listed, value_at};

use super::form::FileForm;

/// Longer than a day is a slip of the finger.
const MINUTES_MAX: f64 = 24.0 * 60.0;

/// Odds and factors beyond this are none.
const PRIOR_MAX: f64 = 1000.0;

/// Says what is wrong with the figures of a file.
pub(super) fn check(form: &FileForm, root: &Node, sink: &mut Sink) {
    check_listed(&form.instruments, root, sink);
    for minutes in form.minutes().filter(|minutes| minutes.written()) {
        if !(0.0..=MINUTES_MAX).contains(&minutes.value) {
            let message = format!("{} minutes is no time that an act takes", minutes.value);
            let said = Diagnostic::error("bad-figure", message, minutes.span.clone());
            sink.say(said.with_expected("minutes, from 0 to 1440"));
        }
    }
    if let Some(confidence) = form.confidence.as_ref().filter(|confidence| confidence.written()) {
        let share = confidence.value;
        if !(share > 0.0 && share < 1.0) {
            let message = format!("{share} is no share to be sure of");
            let said = Diagnostic::error("bad-figure", message, confidence.span.clone());
            let said = said.with_expected("a number between 0 and 1, as 0.95");
            sink.say(match (1.0..100.0).contains(&share) {
                true => said.with_replacement(format!("{}", share / 100.0)),
                false => said,
            });
        }
    }
    if let Some(priors) = value_at(root, "priors") {
        check_priors(priors, sink);
    }
}

/// Every figure below is zero or more and not absurd.
fn check_priors(node: &Node, sink: &mut Sink) {
    match &node.value {
        Value::Fields { fields, .. } => {
            fields.iter().for_each(|field| check_priors(&field.value, sink));
        }
        Value::Number(odds) if !(0.0..=PRIOR_MAX).contains(odds) => {
            let message = format!("{odds} is no odds that a fault is there");
            let said = Diagnostic::error("bad-figure", message, node.span.clone());
            sink.say(said.with_expected("odds in a random dwelling, as 1e-3"));
        }
        _ => {}
    }
}
