//! What is drawn to be wrong.

use crate::circuit::{Circuit, Configuration, Device, DeviceKind, Outlet};
use crate::condition::Condition;
use crate::condition::catalogue::{FaultKind, Levels, PossibleFault, catalogue_at};

use super::age::Age;
use super::chance::Chance;
use super::difficulty::Band;

/// What a drill is to be like. The default leaves everything to chance.
///
/// ```
/// use slotwise::condition::catalogue::FaultKind;
/// use slotwise::drill::{Drill, Family, Wanted};
/// let family = Family::read(include_str!("../../circuits/families/workshops.ron")).unwrap();
/// let bootleg = Wanted { kinds: vec![FaultKind::Bridged], ..Wanted::default() };
/// let drill = Drill::draw(&family, 1, 0, &bootleg).unwrap();
/// assert!(drill.faults.iter().all(|fault| fault.kind == FaultKind::Bridged));
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wanted {
    /// How many faults; drawn unless stated, mostly one.
    pub faults: Option<usize>,
    /// Kinds that may be drawn; every kind but settings where it is empty.
    pub kinds: Vec<FaultKind>,
    /// Two faults, of which the second cannot be seen until the first is mended.
    pub hiding: bool,
    /// How hard it is; not worked out unless stated.
    pub band: Option<Band>,
}

/// Share of drills with one, two and three faults where nothing else is asked for: judgement, so
/// that most are single and none can rely on it.
const NUMBERS: [f64; 3] = [0.78, 0.18, 0.04];

/// More faults at once than this are not drawn.
pub(super) const FAULTS_MAX: usize = 4;

impl Wanted {
    fn number(&self, chance: &mut Chance) -> usize {
        match (self.hiding, self.faults) {
            (true, _) => 2,
            (false, Some(number)) => number.clamp(1, FAULTS_MAX),
            (false, None) => chance.weighted(&NUMBERS).map_or(1, |place| place + 1),
        }
    }
}

/// The faults that may be drawn on a circuit, with the odds of its age.
pub(super) fn possible(circuit: &Circuit, age: Age, wanted: &Wanted) -> Vec<PossibleFault> {
    let all = catalogue_at(circuit, &Levels::default(), &age.priors());
    let is_wanted = |fault: &&PossibleFault| match wanted.kinds.is_empty() {
        true => !fault.kind.is_setting(),
        false => wanted.kinds.contains(&fault.kind),
    };
    let may = |fault: &&PossibleFault| is_wanted(fault) && !is_no_matter(circuit, fault);
    all.faults().iter().filter(may).cloned().collect()
}

/// Whether a hot and its neutral are exchanged where every plug goes in either way: that is no fault
/// there. Ahead of a switch it is one, for then the neutral is switched.
fn is_no_matter(circuit: &Circuit, fault: &PossibleFault) -> bool {
    let is_hot = |name: &String| name.starts_with("hot");
    let is_polarity = fault.conductors.iter().any(is_hot)
        && fault.conductors.iter().any(|name| name == "neutral")
        && fault.conductors.len() == 2;
    let is_switch = |device: &Device| {
        use DeviceKind::{FourWay, Switch, ThreeWay};
        matches!(device.kind, Switch { .. } | ThreeWay { .. } | FourWay { .. })
    };
    let is_past_it = |place: &String| match fault.kind {
        FaultKind::ExchangedAtDevice => fault.places.contains(place),
        FaultKind::ExchangedAtCableEnd => !circuit.parts().devices.iter().any(is_switch),
        _ => false,
    };
    let goes_in_either_way = |outlet: &Outlet| {
        Configuration::named(&outlet.configuration).is_some_and(|one| !one.polarised)
    };
    let outlets = circuit.outlets().filter(|(place, _)| is_past_it(&place.id));
    let ways: Vec<bool> = outlets.map(|(_, outlet)| goes_in_either_way(outlet)).collect();
    is_polarity && !ways.is_empty() && !ways.contains(&false)
}

/// Draws as many faults as are wanted, none of which is another state of another's subject;
/// nothing where there are not so many.
pub(super) fn draw(
    possible: &[PossibleFault],
    wanted: &Wanted,
    chance: &mut Chance,
) -> Option<Vec<PossibleFault>> {
    let mut drawn: Vec<&PossibleFault> = Vec::new();
    for _ in 0..wanted.number(chance) {
        let weight = |fault: &PossibleFault| match drawn.iter().any(|other| other.excludes(fault)) {
            true => 0.0,
            false => fault.weight,
        };
        let weights: Vec<f64> = possible.iter().map(weight).collect();
        drawn.push(possible.get(chance.weighted(&weights)?)?);
    }
    Some(drawn.into_iter().cloned().collect())
}

/// The condition of these faults and nothing else.
pub(super) fn condition(faults: &[PossibleFault]) -> Condition {
    let mut condition = Condition::default();
    faults.iter().for_each(|fault| fault.apply(&mut condition));
    condition
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reversed_polarity_is_no_fault_where_a_plug_goes_in_either_way() {
        let reversed = |configuration: &str, boxes: &str| {
            let text = format!(
                r#"(format: 1, supply: (system: Single230),
                defaults: (configuration: "{configuration}"),
                circuits: [(id: "c1", amperes: 16)], boxes: [{boxes}])"#
            );
            let circuit = crate::circuit::file::read(&text).unwrap().circuit;
            let possible = possible(&circuit, Age::default(), &Wanted::default());
            let is_exchange = |kind| {
                matches!(kind, FaultKind::ExchangedAtDevice | FaultKind::ExchangedAtCableEnd)
            };
            let is_reversed =
                |one: &PossibleFault| is_exchange(one.kind) && one.conductors == ["hot", "neutral"];
            assert!(possible.iter().any(|one| is_exchange(one.kind) && !is_reversed(one)));
            possible.iter().any(is_reversed)
        };
        let desks =
            r#"(id: "desk", from: "c1", metres: 6), (id: "easel", from: "desk", metres: 5)"#;
        assert!(reversed("BS 1363", desks));
        assert!(!reversed("CEE 7/3", desks));
        let switched = r#"(id: "door", from: "c1", metres: 6, device: Switch(closed: true)),
            (id: "desk", from: "door", metres: 5, carries: ["switched", "neutral", "ground"],
             device: Receptacle(hot: "switched"))"#;
        assert!(reversed("CEE 7/3", switched), "then the neutral is switched");
    }
}
