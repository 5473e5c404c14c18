//! Problems that only the whole circuit shows, at the place of the file that speaks of the part.

use crate::circuit::CircuitProblem;
use crate::circuit::diagnostic::Diagnostic;

use super::form::FileForm;
use super::placed::Placed;
use super::sink::Sink;
use super::tree::Span;

/// Says each problem where its part is named, or at the top of the file.
pub(crate) fn say(problems: &[CircuitProblem], form: &FileForm, sink: &mut Sink) {
    for problem in problems {
        let span = place_of(&problem.part.id, form).unwrap_or(form.format.span.clone());
        let message = format!("{}: {}", problem.part, problem.what);
        let mut diagnostic = Diagnostic::error("circuit-problem", message, span)
            .with_expected(problem.expected.clone());
        if let Some(close) = problem.close.first() {
            diagnostic = diagnostic.with_help(format!("did you mean `{close}`?"));
        }
        sink.say(diagnostic);
    }
}

/// Where the name stands that a part's own name begins or ends with.
fn place_of(part: &str, form: &FileForm) -> Option<Span> {
    let circuits = form.circuits.iter().map(|circuit| &circuit.id);
    let names = circuits
        .chain(form.subpanels.iter().map(|subpanel| &subpanel.id))
        .chain(form.boxes.iter().map(|place| &place.id))
        .chain(form.cables.iter().map(|cable| &cable.id))
        .chain(form.loads.iter().map(|load| &load.id))
        .chain(form.links.iter().map(|link| &link.id))
        .chain(form.lumped.iter().map(|lumped| &lumped.id))
        .chain(form.bonds.iter().map(|bond| &bond.id))
        .chain(form.electrodes.iter().map(|electrode| &electrode.id));
    let belongs = |name: &str| {
        part == name
            || part.strip_prefix(name).is_some_and(|rest| rest.starts_with('.'))
            || part.strip_suffix(name).is_some_and(|rest| rest.ends_with('-'))
    };
    names
        .filter(|name| belongs(name.as_str()))
        .map(|name: &Placed<String>| name.span.clone())
        .next()
}
