//! The one sentence on a terminal that a practitioner would accept.

use crate::circuit::Vocabulary;
use crate::hazard::Limits;
use crate::quantity::Address;
use crate::report::figure::{amperes, leak, volts};
use crate::report::read::Held;
use crate::report::vocabulary::conductor;

use super::ShareReading;
use super::path::{LoadOnPath, Source};

/// What the sentence is about.
pub(super) struct Subject<'a> {
    pub(super) address: &'a str,
    pub(super) volt: Option<f64>,
    pub(super) held: Held,
    /// What holds a terminal that no conductor leads to, the largest share first.
    pub(super) shares: &'a [ShareReading],
    /// Where the ways to it begin, the strongest first.
    pub(super) sources: &'a [Source],
    pub(super) vocabulary: Vocabulary,
}

/// Current below which nothing drops in ordinary wiring: a milliampere in ten ohms is 10 mV.
const NO_CURRENT_AMPERE: f64 = 1e-3;

/// A way with a smaller share decides nothing and is not told.
pub(crate) const SHARE_TOLD: f64 = 0.1;

/// The sentence.
pub(super) fn sentence(subject: &Subject<'_>) -> String {
    let address = subject.address;
    if address == Address::earth().as_str() {
        return "earth is remote soil: the zero that every potential is measured from.".to_owned();
    }
    let Some(volt) = subject.volt else {
        return format!(
            "{address} has no potential to earth: nothing at all connects it to the rest, not \
             even capacitance, so whatever touches it decides where it is."
        );
    };
    let fed = match subject.sources {
        [] => {
            return format!(
                "{address} floats at {} V: no conducting path leads to it, only capacitance and \
                 leakage, {}. An instrument or a hand pulls it down.",
                volts(volt),
                shares_in_words(subject)
            );
        }
        [first, ..] if first.loads.is_empty() => format!(
            "{address} is at {} V: it is joined to {} by conductors and joints alone, and differs \
             from it only by what the current in them drops.",
            volts(volt),
            first.name
        ),
        [first, others @ ..] => through_loads(subject, volt, first, others),
    };
    match subject.held {
        Held::Firm => fed,
        _ => format!(
            "{fed} The supply itself is joined to earth by nothing but capacitance and leakage, so \
             the potential to earth is where these happen to hold it."
        ),
    }
}

/// The sentence on a terminal that only loads join to the supply.
fn through_loads(subject: &Subject<'_>, volt: f64, first: &Source, others: &[Source]) -> String {
    let address = subject.address;
    let (volt, name) = (volts(volt), &first.name);
    let through = names(&first.loads);
    let told: Vec<&Source> = others.iter().filter(|other| other.share >= SHARE_TOLD).collect();
    if !told.is_empty() {
        let ways: Vec<String> = told.iter().map(|other| way(other)).collect();
        return format!(
            "{address} is at {volt} V because it hangs between {} and {}; how much each lets \
             through decides where.",
            way(first),
            ways.join(" and ")
        );
    }
    if first.volt < Limits::of(subject.vocabulary).touch_wet_volt {
        return format!(
            "{address} is at {volt} V: nothing live feeds it; what joins it to {name} is the \
             {through}."
        );
    }
    let ampere = first.loads.iter().map(|load| load.ampere).fold(0.0, f64::max);
    let dropped: f64 = first.loads.iter().map(|load| load.volt).sum();
    let leaks_ohm: f64 = first.loads.iter().filter_map(|load| load.leak_ohm).sum();
    if leaks_ohm > 0.0 {
        return format!(
            "{address} is at {volt} V because it hangs on {name} through the {through}, which \
             drops {} V now. That is a leak and no solid connection: at most {} come through it.",
            volts(dropped),
            leak(first.volt / leaks_ohm)
        );
    }
    let current = if ampere < NO_CURRENT_AMPERE {
        "no current to speak of flows there, so nothing drops".to_owned()
    } else {
        format!(
            "its {} A find another way back and drop {} V on the way",
            amperes(ampere),
            volts(dropped)
        )
    };
    format!(
        "{address} is at {volt} V because it hangs on {name} through the {through}: {current}. \
         That is a real feed, not a phantom."
    )
}

/// A source and what lies between it and the terminal.
fn way(source: &Source) -> String {
    match source.loads.as_slice() {
        [] => format!("{} by conductors alone", source.name),
        loads => format!("{} through the {}", source.name, names(loads)),
    }
}

fn names(loads: &[LoadOnPath]) -> String {
    let names: Vec<&str> = loads.iter().map(|load| load.name.as_str()).collect();
    names.join(" and the ")
}

/// `78 % to ground, 18 % to hot`; shares under a hundredth are left out.
fn shares_in_words(subject: &Subject<'_>) -> String {
    const WORTH_SAYING: f64 = 0.01;
    let shares: Vec<String> = subject
        .shares
        .iter()
        .filter(|share| share.share >= WORTH_SAYING)
        .map(|share| {
            let to = match share.conductor.as_str() {
                "earth" => "the soil".to_owned(),
                name => conductor(subject.vocabulary, name),
            };
            format!("{:.0} % to {to}", share.share * 100.0)
        })
        .collect();
    shares.join(", ")
}
