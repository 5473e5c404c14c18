//! What trips before anybody can hold an instrument to a receptacle.
//!
//! What trips only after minutes is left closed: the circuit is measured meanwhile.

use crate::netlist::Netlist;
use crate::protection::{Protection, Verdict};
use crate::solution::Solution;

/// What is certain to have tripped after so long, in seconds, has tripped. A ground-fault device
/// of class A takes up to 5.6 s at 6 mA (UL 943).
pub(crate) const AT_ONCE_S: f64 = 10.0;

/// Breakers and protective devices that are closed and trip at once, by name.
pub(super) fn at_once(
    protection: &Protection<'_>,
    netlist: &Netlist,
    solution: &Solution,
) -> Vec<String> {
    let standing = protection.standing(netlist, solution);
    let trips = standing.into_iter().filter(|one| match one.verdict {
        Verdict::Trips { after, .. } => after.latest_s.is_some_and(|latest| latest <= AT_ONCE_S),
        Verdict::Stays(_) => false,
    });
    trips.map(|one| one.device).collect()
}
