//! What the library calls the troubles of a hidden circuit: needed to mark its answers, and to
//! check that the generator and the library draw the same circuit where nothing is off.

use slotwise::circuit::CableEnd;
use slotwise::condition::{EndOfCable, Fault, Gap};

use crate::building::Building;
use crate::hidden::{JointAt, Part, Trouble, WIRES};

/// The element that a joint is.
pub(crate) fn element(building: &Building, joint: JointAt) -> String {
    let JointAt { at, wire, part } = joint;
    let (cable, name, wire) = (Building::cable(at), Building::name(at), WIRES[wire]);
    match part {
        Part::Near => format!("contact:{cable}.a.{wire}"),
        Part::Far => format!("contact:{cable}.b.{wire}"),
        Part::Pigtail if building.boxes[at].fed_through && wire != "ground" => {
            format!("link:{name}.strap.{wire}")
        }
        Part::Pigtail => format!("link:{name}.pigtail.{wire}"),
        Part::Screw => format!("link:{name}.screw.{wire}"),
    }
}

/// The box in which a person finds the trouble: its number, `None` for the panel, or nothing that
/// a box could show.
pub(crate) fn boxes(trouble: Trouble) -> Vec<Option<usize>> {
    match trouble {
        Trouble::Open(joint, _) | Trouble::Bad(joint, _) | Trouble::Fickle(joint) => {
            vec![match joint.part {
                Part::Near => joint.at.checked_sub(1),
                _ => Some(joint.at),
            }]
        }
        Trouble::Broken { at, .. } | Trouble::Choke { at, .. } => vec![at.checked_sub(1), Some(at)],
        Trouble::ExchangedAtDevice { at, .. }
        | Trouble::ExchangedOnArrival { at, .. }
        | Trouble::Bridged { at, .. }
        | Trouble::Foreign { at, .. } => vec![Some(at)],
        Trouble::CaseLeak { .. } | Trouble::Sag(_) => vec![],
        Trouble::ServiceNeutral(_) | Trouble::BreakerOff | Trouble::NeutralOnOtherLeg => vec![None],
    }
}

/// The same trouble as the library would be told of it; `None` where it has no single word.
pub(crate) fn fault(building: &Building, trouble: Trouble) -> Option<Fault> {
    let far = |at: usize| EndOfCable { cable: Building::cable(at), end: CableEnd::B };
    let pair = |wires: (usize, usize)| (WIRES[wires.0].to_owned(), WIRES[wires.1].to_owned());
    let slot = |at: usize, wire: usize| format!("{}.{}", Building::name(at), WIRES[wire]).into();
    Some(match trouble {
        Trouble::Open(joint, gap) => {
            let resistance_ohm = gap.is_finite().then_some(gap);
            let gap = Gap { capacitance_farad: None, resistance_ohm };
            Fault::Open { element: element(building, joint), gap }
        }
        Trouble::Bad(joint, resistance_ohm) => {
            Fault::Resistance { element: element(building, joint), resistance_ohm }
        }
        Trouble::Broken { at, wire, share } => Fault::Broken {
            cable: Building::cable(at),
            conductor: WIRES[wire].to_owned(),
            at_fraction: share,
            gap: Gap::NONE,
        },
        Trouble::ExchangedOnArrival { at, wires } => {
            Fault::ExchangedAtCableEnd { end: far(at), conductors: pair(wires) }
        }
        Trouble::Bridged { at, wires, ohm } => Fault::Bridge {
            id: "bridge".to_owned(),
            between: (slot(at, wires.0), slot(at, wires.1)),
            resistance_ohm: ohm,
        },
        Trouble::ServiceNeutral(ohm) if ohm.is_infinite() => {
            Fault::Open { element: "service:neutral".to_owned(), gap: Gap::NONE }
        }
        Trouble::ServiceNeutral(resistance_ohm) => {
            Fault::Resistance { element: "service:neutral".to_owned(), resistance_ohm }
        }
        _ => return None,
    })
}
