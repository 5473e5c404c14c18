//! Instruments by name.

use slotwise::circuit::{Circuit, Vocabulary};
use slotwise::instrument::{Instrument, presets};

use super::output::Failure;

/// The instrument of a name; without one the plug-in tester that goes with the circuit.
pub(super) fn instrument(name: Option<&str>, circuit: &Circuit) -> Result<Instrument, Failure> {
    let Some(name) = name else {
        return Ok(match circuit.parts().vocabulary {
            Vocabulary::NorthAmerican => presets::plug_tester_resistive(),
            Vocabulary::Iec => presets::plug_tester_230(),
        });
    };
    presets::named(name).ok_or_else(|| {
        let near = presets::names()
            .max_by(|a, b| strsim::jaro_winkler(name, a).total_cmp(&strsim::jaro_winkler(name, b)))
            .filter(|near| strsim::jaro_winkler(name, near) > NEAR);
        let near = near.map_or(String::new(), |near| format!("; did you mean `{near}`?"));
        let names: Vec<&str> = presets::names().collect();
        Failure::unusable(format!(
            "slotwise: `{name}` is not an instrument{near}\n  there are: {}",
            names.join(", ")
        ))
    })
}

/// Likeness, 0 to 1, from which on a name is taken for a misspelling.
const NEAR: f64 = 0.75;
