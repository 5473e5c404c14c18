//! Suspects as a person hears them: what no available test can part is one, with one range of
//! addresses.

use super::belief::{Belief, Who};
use super::class::{Class, PARTED_SPREADS, looks_same};
use super::closed::Closed;
use super::model::{Model, Set};
use super::possible::Possible;
use crate::circuit::Side;
use crate::condition::catalogue::PossibleFault;

/// One fault of a suspect.
///
/// ```
/// # use slotwise::diagnosis::SuspectFault;
/// fn is_likely(fault: &SuspectFault) -> bool { fault.share > 0.5 }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct SuspectFault {
    /// The fault.
    pub fault: PossibleFault,
    /// How likely it is this one, if it is this suspect at all.
    pub share: f64,
}

/// Faults that no available test parts, and how likely it is that one of them is there.
///
/// ```
/// # use slotwise::diagnosis::Suspect;
/// fn to_open(suspect: &Suspect) -> Option<&String> { suspect.boxes.first() }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Suspect {
    /// Probability that one of its faults is there, whatever else is.
    pub probability: f64,
    /// Probability that it is an open joint that makes contact now and then, if it is there.
    pub intermittent: f64,
    /// Its faults, the likeliest first.
    pub faults: Vec<SuspectFault>,
    /// The places it may be in, in walking order.
    pub boxes: Vec<String>,
    /// Where it begins, towards the supply: a joint's place, conductor and side.
    pub first: Option<Spot>,
    /// Where it ends, away from the supply; the same as `first` where it is one joint.
    pub last: Option<Spot>,
}

/// A side of a place.
///
/// ```
/// use slotwise::circuit::Side;
/// use slotwise::diagnosis::Spot;
/// let spot = Spot { place: "kiln".into(), side: Side::Line };
/// assert_eq!(spot.to_string(), "kiln, line side");
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spot {
    /// The place.
    pub place: String,
    /// The side of it.
    pub side: Side,
}

impl std::fmt::Display for Spot {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.side {
            Side::Line => write!(f, "{}, line side", self.place),
            Side::Load => write!(f, "{}, load side", self.place),
            Side::Here => f.write_str(&self.place),
        }
    }
}

impl Suspect {
    /// Whether it is likelier to make contact now and then than to be open, or bad, all the time.
    pub fn is_intermittent(&self) -> bool {
        self.intermittent > 0.5
    }

    /// The conductors it is in or between, in the circuit's words.
    pub fn conductors(&self) -> &[String] {
        self.faults.first().map_or(&[], |fault| &fault.fault.conductors)
    }

    /// Where it is, in words: `neutral between door, load side, and bench, line side`.
    pub fn whereabouts(&self) -> String {
        let conductors = self.conductors().join(" and ");
        let named = |place: String| match conductors.is_empty() {
            true => place,
            false => format!("{conductors} at {place}"),
        };
        match (&self.first, &self.last) {
            (Some(first), Some(last)) if first != last => match conductors.is_empty() {
                true => format!("between {first} and {last}"),
                false => format!("{conductors} between {first}, and {last}"),
            },
            (Some(only), _) => named(only.to_string()),
            _ => named(self.boxes.join(", ")),
        }
    }
}

/// The group of each class: classes that nothing in reach parts, in these settings, or that are
/// of one joint. Nuisances have none, nor what was put right.
pub(super) fn groups(
    (model, closed): (&Model<'_>, &Closed),
    classes: &[Class],
    belief: &Belief,
    settings: &[usize],
) -> Vec<Option<usize>> {
    let marginal = marginals(classes, belief);
    let mut order: Vec<usize> = (0..classes.len()).collect();
    let weight = |at: usize| marginal.get(at).copied().unwrap_or(0.0);
    order.sort_by(|&a, &b| weight(b).total_cmp(&weight(a)).then(a.cmp(&b)));
    let mut group = vec![None; classes.len()];
    let mut leads: Vec<usize> = Vec::new();
    for at in order {
        let is_fault =
            |class: &&Class| !class.is_nuisance && !closed.mended().contains(&class.lead);
        let Some(class) = classes.get(at).filter(is_fault) else { continue };
        // What is hardly believed is left by itself: nobody hears of it.
        let heard_of = weight(at) > HEARD_OF && class.shows;
        let known = leads.iter().position(|&lead| {
            classes.get(lead).is_some_and(|lead| {
                one_place(model, lead, likeliest(class, belief.shares.get(at)))
                    || heard_of && same(model, lead.lead, class.lead, settings)
            })
        });
        let number = known.unwrap_or_else(|| {
            leads.push(at);
            leads.len() - 1
        });
        if let Some(slot) = group.get_mut(at) {
            *slot = Some(number);
        }
    }
    group
}

/// Below this probability nothing is said of a suspect.
const HEARD_OF: f64 = 1e-3;

/// The likeliest member of a class.
pub(super) fn likeliest(class: &Class, shares: Option<&Vec<f64>>) -> usize {
    let shares = shares.into_iter().flatten();
    let members = class.members.iter().map(|(member, _)| *member).zip(shares);
    members.reduce(|a, b| if b.1 > a.1 { b } else { a }).map_or(class.lead, |(member, _)| member)
}

/// Whether a possibility is of a joint of a class, open or in whatever way bad, the same thing
/// to another amount, or in the same appliance: one place to go to.
fn one_place(model: &Model<'_>, one: &Class, other: usize) -> bool {
    let Some(other) = model.possibles.get(other) else { return false };
    let mut members = one.members.iter().filter_map(|(member, _)| model.possibles.get(*member));
    match (other.elements().next(), load_of(other)) {
        (Some(element), _) => members.any(|member| member.elements().any(|known| known == element)),
        (None, Some(load)) => members.all(|member| load_of(member) == Some(load)),
        (None, None) => members.any(|member| member.is_another_amount_of(other)),
    }
}

/// The load in which it is.
fn load_of(possible: &Possible) -> Option<&str> {
    possible.fault()?.load.as_deref()
}

fn same(model: &Model<'_>, one: usize, other: usize, settings: &[usize]) -> bool {
    settings.iter().all(|&setting| {
        let rows = (model.row(Set::of(&[one]), setting), model.row(Set::of(&[other]), setting));
        match rows {
            (Some(one), Some(other)) => {
                let looks = (&model.chances, &*model.predictor.looks);
                looks_same(looks, &one, &other, PARTED_SPREADS)
            }
            (None, None) => true,
            _ => false,
        }
    })
}

/// Probability of each class, whatever else is.
fn marginals(classes: &[Class], belief: &Belief) -> Vec<f64> {
    let mut marginal = vec![0.0; classes.len()];
    for one in &belief.hypotheses {
        let Who::Classes(set) = one.who else { continue };
        for class in set.iter() {
            if let Some(sum) = marginal.get_mut(class) {
                *sum += one.weight;
            }
        }
    }
    marginal
}

/// Suspects by group, the likeliest first, each with the number of its group.
pub(super) fn suspects(
    model: &Model<'_>,
    classes: &[Class],
    belief: &Belief,
    groups: &[Option<usize>],
) -> Vec<(usize, Suspect)> {
    let n_groups = groups.iter().flatten().max().map_or(0, |most| most + 1);
    let mut probability = vec![0.0; n_groups];
    let mut intermittent = vec![0.0; n_groups];
    let mut members: Vec<Vec<(usize, f64)>> = vec![Vec::new(); n_groups];
    let marginal = marginals(classes, belief);
    for one in &belief.hypotheses {
        let Who::Classes(set) = one.who else { continue };
        let mut of: Vec<usize> =
            set.iter().filter_map(|class| groups.get(class).copied().flatten()).collect();
        of.dedup();
        for group in of {
            if let Some(sum) = probability.get_mut(group) {
                *sum += one.weight;
            }
            if let Some(sum) = intermittent.get_mut(group) {
                *sum += one.weight * one.intermittent;
            }
        }
    }
    for (at, (group, class)) in groups.iter().zip(classes).enumerate() {
        let (Some(group), Some(shares)) = (group, belief.shares.get(at)) else { continue };
        let weight = marginal.get(at).copied().unwrap_or(0.0);
        if let Some(members) = members.get_mut(*group) {
            let each = class.members.iter().zip(shares);
            members.extend(each.map(|(&(member, _), share)| (member, weight * share)));
        }
    }
    let mut suspects: Vec<(usize, Suspect)> = probability
        .into_iter()
        .zip(intermittent)
        .zip(members)
        .enumerate()
        .filter(|(_, ((probability, _), _))| *probability > HEARD_OF)
        .map(|(group, (how_likely, members))| (group, suspect(model, how_likely, members)))
        .collect();
    suspects.sort_by(|a, b| b.1.probability.total_cmp(&a.1.probability).then(a.0.cmp(&b.0)));
    suspects
}

/// Members less likely than this share of the suspect do not widen its range.
const IN_RANGE: f64 = 5e-3;

/// A suspect of some members, with its probability and how much of that is of contact now and then.
fn suspect(
    model: &Model<'_>,
    (probability, intermittent): (f64, f64),
    mut members: Vec<(usize, f64)>,
) -> Suspect {
    members.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let total: f64 = members.iter().map(|(_, weight)| weight).sum();
    let share = |weight: f64| if total > 0.0 { weight / total } else { 0.0 };
    let faults: Vec<SuspectFault> = members
        .iter()
        .filter_map(|&(at, weight)| {
            let fault = model.possibles.get(at)?.fault()?.clone();
            Some(SuspectFault { fault, share: share(weight) })
        })
        .collect();
    let near = || members.iter().filter(|(_, weight)| share(*weight) >= IN_RANGE);
    let mut places: Vec<usize> = near()
        .filter_map(|(at, _)| model.possibles.get(*at))
        .flat_map(|possible| possible.boxes.clone())
        .collect();
    places.sort_unstable();
    places.dedup();
    let name = |at: &usize| model.circuit.parts().places.get(*at).map(|place| place.id.clone());
    let mut spots: Vec<(usize, u8, Spot)> = near()
        .filter_map(|(at, _)| model.possibles.get(*at))
        .flat_map(|possible| spots(model, possible))
        .collect();
    spots.sort_by_key(|spot| (spot.0, spot.1));
    let spot = |found: Option<&(usize, u8, Spot)>| found.map(|(_, _, spot)| spot.clone());
    Suspect {
        probability,
        intermittent: intermittent / probability,
        faults,
        boxes: places.iter().filter_map(name).collect(),
        first: spot(spots.first()),
        last: spot(spots.last()),
    }
}

/// The sides that a possibility is at, with their order from the supply on.
fn spots(model: &Model<'_>, possible: &super::possible::Possible) -> Vec<(usize, u8, Spot)> {
    let side = possible
        .elements()
        .find_map(|element| model.circuit.joint_of_element(element))
        .map(|joint| joint.side);
    let places = &model.circuit.parts().places;
    possible
        .boxes
        .iter()
        .enumerate()
        .filter_map(|(at, &number)| {
            // A cable is past the load side of its first box and before the line side of the
            // other.
            let side = match (side, possible.boxes.len(), at) {
                (Some(side), 1, _) => side,
                (_, 2, 0) => Side::Load,
                (_, 2, _) => Side::Line,
                _ => Side::Here,
            };
            let rank = match side {
                Side::Line => 0,
                Side::Here => 1,
                Side::Load => 2,
            };
            let place = places.get(number)?.id.clone();
            Some((number, rank, Spot { place, side }))
        })
        .collect()
}
