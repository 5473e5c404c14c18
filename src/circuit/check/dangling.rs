//! Wires that land on nothing: a slip of the finger, or capped wires, which land nowhere.

use std::collections::HashSet;

use crate::circuit::connection::device_terminals;
use crate::circuit::{Cable, Description, Landing, PartKind};
use crate::quantity::Address;

use super::references::alone;
use super::{At, Found, Meetings, bars};

/// Says which landings of cables nothing else reaches. A wire may be the only one on a bar, in a
/// splice of a box and at a terminal of a device, and a ground may end on metal that has no other.
pub(super) fn check(description: &Description, meetings: &Meetings<'_>, found: &mut Found) {
    let landings = |cable| -> Vec<(&Cable, &Landing)> {
        let cable: &Cable = cable;
        let lone = |landing: &&Landing| alone(landing.to.as_str(), meetings);
        cable.ends.iter().flatten().filter(lone).map(|landing| (cable, landing)).collect()
    };
    let lone: Vec<(&Cable, &Landing)> = description.cables.iter().flat_map(landings).collect();
    if lone.is_empty() {
        return;
    }
    let panels = bars::panels(description);
    let places: HashSet<&str> = description.places.iter().map(|place| place.id.as_str()).collect();
    let terminals: HashSet<Address> =
        description.devices.iter().flat_map(device_terminals).collect();
    let dangling: HashSet<&str> = lone.iter().map(|(_, landing)| landing.to.as_str()).collect();
    for (cable, landing) in lone {
        let to = landing.to.as_str();
        let on_bar = to.rsplit_once('.').is_some_and(|(panel, _)| panels.contains(panel));
        let on_metal = landing.conductor == "ground";
        if on_metal || on_bar || is_splice(to, &places) || terminals.contains(&landing.to) {
            continue;
        }
        let at = At::new(PartKind::Cable, &cable.id, "ends");
        let what = format!("`{}` lands on `{to}`, which nothing else reaches", landing.conductor);
        let expected = "a terminal of the circuit, or no landing if it is capped";
        let known = meetings.keys().copied().filter(|known| !dangling.contains(known));
        found.unknown(at, to, what, expected, known);
    }
}

/// `BOX.splice.CONDUCTOR`, on the load side of a device `BOX.splice-load.CONDUCTOR`.
fn is_splice(address: &str, places: &HashSet<&str>) -> bool {
    let splice = address.rsplit_once('.').and_then(|(splice, _)| splice.rsplit_once('.'));
    splice.is_some_and(|(place, splice)| {
        matches!(splice, "splice" | "splice-load") && places.contains(place)
    })
}
