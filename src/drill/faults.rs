//! What is drawn to be wrong.

use crate::circuit::Circuit;
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
    let may = |fault: &&PossibleFault| match wanted.kinds.is_empty() {
        true => !fault.kind.is_setting(),
        false => wanted.kinds.contains(&fault.kind),
    };
    all.faults().iter().filter(may).cloned().collect()
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
