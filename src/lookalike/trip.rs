//! What trips before anybody can hold an instrument to a receptacle.
//!
//! What trips only after minutes is left closed: the circuit is measured meanwhile.

use crate::protection::{Standing, Verdict};

/// What is certain to have tripped after so long, in seconds, has tripped. A ground-fault device
/// of class A takes up to 5.6 s at 6 mA (UL 943).
const AT_ONCE_S: f64 = 10.0;

/// Of the breakers and protective devices that are closed those that trip at once, by name.
pub(super) fn at_once(standing: Vec<Standing>) -> Vec<String> {
    let trips = standing.into_iter().filter(|one| match one.verdict {
        Verdict::Trips { after, .. } => after.latest_s.is_some_and(|latest| latest <= AT_ONCE_S),
        Verdict::Stays(_) => false,
    });
    trips.map(|one| one.device).collect()
}
