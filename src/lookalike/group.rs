//! Look-alikes grouped by what is physically wrong, the dangerous first, then the likely.

use std::collections::BTreeMap;

use crate::condition::catalogue::{Catalogue, FaultKind};

use super::danger::{Danger, found, kinds};
use super::evaluator::Evaluator;
use super::silent::{Silence, SilentDanger};
use super::survey::{FaultSet, Gathered, Hit};
use super::{Bounds, Depth};

/// What is physically wrong, without where.
///
/// ```
/// use slotwise::condition::catalogue::FaultKind;
/// use slotwise::lookalike::Wrong;
/// let wrong = Wrong { kind: FaultKind::OpenJoint, conductors: vec!["neutral".into()] };
/// assert_eq!(wrong.conductors[0], "neutral");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct Wrong {
    /// The kind of fault.
    pub kind: FaultKind,
    /// The conductors it is in or between.
    pub conductors: Vec<String>,
}

/// Look-alikes in which the same is physically wrong.
///
/// ```
/// # use slotwise::lookalike::Group;
/// fn first_place(group: &Group) -> Option<&str> {
///     group.members.first()?.places.first().map(String::as_str)
/// }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Group {
    /// What is wrong: one thing, or two.
    pub wrong: Vec<Wrong>,
    /// Of two faults, neither alone shows the same.
    pub needs_both: bool,
    /// Sum of the members' odds: judgement.
    pub odds: f64,
    /// Dangers that members carry and the circuit has not by itself, the gravest first, among those
    /// examined.
    pub dangers: Vec<Danger>,
    /// The likeliest members, those with dangers first.
    pub members: Vec<Member>,
    /// Number of all members.
    pub members_total: usize,
    /// Members whose dangers were worked out.
    pub examined: usize,
}

/// One set of faults that shows the same.
///
/// ```
/// # use slotwise::lookalike::Member;
/// fn in_words(member: &Member) -> String { member.faults.join("; ") }
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Member {
    /// The faults, by their place in the circuit's catalogue.
    pub catalogue: Vec<usize>,
    /// The faults, in the words that a condition is said in.
    pub faults: Vec<String>,
    /// The places a person would open for them.
    pub places: Vec<String>,
    /// The load settings in which it shows the same, by number.
    pub load_settings: Vec<usize>,
    /// What trips at once, before the instrument is there.
    pub trips: Vec<String>,
    /// Its odds: judgement.
    pub odds: f64,
    /// Its dangers that the circuit has not by itself, the gravest first; `None` where they were not
    /// worked out.
    pub dangers: Option<Vec<Danger>>,
}

/// The groups of one depth, bounded, with how many are left out.
///
/// ```
/// use slotwise::lookalike::Groups;
/// assert_eq!(Groups::default().members_total, 0);
/// ```
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct Groups {
    /// The groups.
    pub groups: Vec<Group>,
    /// Groups left out: the last of the order.
    pub groups_not_shown: usize,
    /// Look-alikes in all groups.
    pub members_total: usize,
    /// Dangers among all that were examined, shown or not.
    pub silent: Vec<SilentDanger>,
}

/// A set of faults with where it shows.
type Found<'g> = (&'g FaultSet, &'g Hit);

/// Groups what was gathered at one depth.
pub(super) fn grouped(
    evaluator: &Evaluator<'_>,
    catalogue: &Catalogue,
    gathered: &Gathered,
    depth: Depth,
    bounds: &Bounds,
) -> Groups {
    let mut by_wrong: BTreeMap<(Vec<Wrong>, bool), Vec<Found<'_>>> = BTreeMap::new();
    for (set, hit) in &gathered.hits {
        if set.len() == depth.faults() {
            let needs_both = set.len() == 2 && !gathered.one_is_enough(set, hit);
            by_wrong.entry((wrong(catalogue, set), needs_both)).or_default().push((set, hit));
        }
    }
    let members_total = by_wrong.values().map(Vec::len).sum();
    let mut rough: Vec<Rough<'_>> = by_wrong
        .into_iter()
        .map(|((wrong, needs_both), members)| Rough::new(catalogue, wrong, needs_both, members))
        .collect();
    rough.sort_by(|a, b| b.odds.total_cmp(&a.odds));
    let examined = rough.len().min(bounds.groups_examined);
    let rest = rough.split_off(examined);
    let mut silence = Silence::default();
    let examine = |rough: Rough<'_>| rough.examine(evaluator, catalogue, bounds, &mut silence);
    let mut groups: Vec<Group> = rough.into_iter().map(examine).collect();
    groups.sort_by(|a, b| {
        let grave = |group: &Group| group.dangers.iter().any(Danger::is_grave);
        grave(b)
            .cmp(&grave(a))
            .then(b.needs_both.cmp(&a.needs_both))
            .then(b.odds.total_cmp(&a.odds))
    });
    let shown = groups.len().min(bounds.groups_shown);
    let groups_not_shown = groups.len() - shown + rest.len();
    groups.truncate(shown);
    Groups { groups, groups_not_shown, members_total, silent: silence.into_dangers() }
}

fn wrong(catalogue: &Catalogue, set: &[usize]) -> Vec<Wrong> {
    let mut wrong: Vec<Wrong> = set
        .iter()
        .filter_map(|&at| catalogue.faults().get(at))
        .map(|fault| Wrong { kind: fault.kind, conductors: fault.conductors.clone() })
        .collect();
    wrong.sort();
    wrong
}

/// Odds of faults that have nothing to do with each other.
pub(super) fn odds(catalogue: &Catalogue, set: &[usize]) -> f64 {
    set.iter().filter_map(|&at| catalogue.faults().get(at)).map(|fault| fault.weight).product()
}

/// A group whose dangers are not yet worked out.
struct Rough<'g> {
    wrong: Vec<Wrong>,
    needs_both: bool,
    odds: f64,
    /// Likeliest first.
    members: Vec<(&'g FaultSet, &'g Hit, f64)>,
}

impl<'g> Rough<'g> {
    fn new(
        catalogue: &Catalogue,
        wrong: Vec<Wrong>,
        needs_both: bool,
        members: Vec<Found<'g>>,
    ) -> Self {
        let mut members: Vec<_> =
            members.into_iter().map(|(set, hit)| (set, hit, odds(catalogue, set))).collect();
        members.sort_by(|a, b| b.2.total_cmp(&a.2));
        let odds = members.iter().map(|(_, _, odds)| odds).sum();
        Self { wrong, needs_both, odds, members }
    }

    /// Works out the dangers of the likeliest members.
    fn examine(
        self,
        evaluator: &Evaluator<'_>,
        catalogue: &Catalogue,
        bounds: &Bounds,
        silence: &mut Silence,
    ) -> Group {
        let single = self.wrong.len() == 1;
        let limit = if single { bounds.singles_examined } else { bounds.doubles_examined };
        let examined = limit.min(self.members.len());
        let kept = examined.max(bounds.members_shown);
        let mut members: Vec<Member> = Vec::new();
        for (at, (set, hit, odds)) in self.members.iter().take(kept).enumerate() {
            let mut member = member(evaluator, catalogue, (set, hit), *odds);
            if at < examined {
                member.dangers = Some(member_dangers(evaluator, set, hit));
                silence.hear(&member);
            }
            members.push(member);
        }
        let mut found: Vec<Danger> = Vec::new();
        for danger in members.iter().flat_map(|member| member.dangers.iter().flatten()) {
            if !found.contains(danger) {
                found.push(*danger);
            }
        }
        found.sort();
        members.sort_by(|a, b| b.is_grave().cmp(&a.is_grave()).then(b.odds.total_cmp(&a.odds)));
        members.truncate(bounds.members_shown);
        Group {
            wrong: self.wrong,
            needs_both: self.needs_both,
            odds: self.odds,
            dangers: found,
            members,
            members_total: self.members.len(),
            examined,
        }
    }
}

impl Member {
    /// Whether it is known to kill or start a fire as things stand.
    pub fn is_grave(&self) -> bool {
        self.dangers.iter().flatten().any(Danger::is_grave)
    }
}

/// The dangers that its faults are to blame for, in the load states in which it shows the same.
fn member_dangers(evaluator: &Evaluator<'_>, set: &[usize], hit: &Hit) -> Vec<Danger> {
    let mut all: Vec<Danger> = Vec::new();
    for &setting in &hit.settings {
        let own = evaluator.own.get(setting).map_or(&[][..], Vec::as_slice);
        for danger in kinds(&found(evaluator.circuit, &evaluator.settled(setting, set)), own) {
            if !all.contains(&danger) {
                all.push(danger);
            }
        }
    }
    all.sort();
    all
}

fn member(
    evaluator: &Evaluator<'_>,
    catalogue: &Catalogue,
    (set, hit): Found<'_>,
    odds: f64,
) -> Member {
    let faults = || set.iter().filter_map(|&at| catalogue.faults().get(at));
    let mut places: Vec<String> = Vec::new();
    for place in faults().flat_map(|fault| &fault.places) {
        if !places.contains(place) {
            places.push(place.clone());
        }
    }
    Member {
        catalogue: set.clone(),
        faults: faults().map(|fault| fault.sentence(evaluator.circuit)).collect(),
        places,
        load_settings: hit.settings.clone(),
        trips: hit.tripped.clone(),
        odds,
        dangers: None,
    }
}
