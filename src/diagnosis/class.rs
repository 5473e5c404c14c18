//! Possibilities that no test in reach can part, as one: the places that inference works on.
//!
//! Two are one class if they are the same kind of thing in the same conductors and show the same
//! in every setting asked, as far as a likelihood can see. What shows nothing at all by itself is
//! kept apart by box: it can show together with something else.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::condition::catalogue::FaultKind;

use super::look::{Channel, Looks, Measure};
use super::model::{Model, Set, makes_poor_contact};
use super::possible::Kind;
use super::predictions::Row;
use super::reading_error::{Chances, is_one_to_anybody};

/// A class, led by its likeliest member.
#[derive(Clone, Debug)]
pub(super) struct Class {
    /// The member that is solved for all.
    pub(super) lead: usize,
    /// Every member with its share of the odds.
    pub(super) members: Vec<(usize, f64)>,
    /// Odds of all of them.
    pub(super) odds: f64,
    /// Whether it is no fault: nobody is sent to look for it.
    pub(super) is_nuisance: bool,
    /// Whether it shows anything by itself.
    pub(super) shows: bool,
}

/// What two members of one class have in common beside what they show.
type Likeness = (String, Vec<String>, Option<u64>, Vec<usize>, [bool; 3]);

/// What parts possibilities that look the same to every instrument.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Apart {
    /// Possibilities that were put right show otherwise since.
    pub(super) mended: BTreeSet<usize>,
    /// Places that are said to be warm, to smell or to spark: a joint that heats is there or not.
    pub(super) warm: BTreeSet<usize>,
    /// Places where somebody worked before: what may be so there is told from what may be so beside.
    pub(super) worked_on: BTreeSet<usize>,
}

/// Every class of a model, judged in these settings.
pub(super) fn classes(model: &Model<'_>, apart: &Apart, settings: &[usize]) -> Vec<Class> {
    let sound: Vec<Option<Arc<Row>>> = rows(model, (Set::SOUND, true), settings);
    // What a member shows is its class's, and in a long run too much to be kept.
    let is_kept = model.possibles.len() * model.predictor.looks.channels.len() <= KEPT_MAX;
    let mut order: Vec<usize> = (0..model.possibles.len()).collect();
    let odds = |at: usize| model.possibles.get(at).map_or(0.0, |possible| possible.odds);
    order.sort_by(|&a, &b| odds(b).total_cmp(&odds(a)).then(a.cmp(&b)));
    let mut classes: Vec<(Class, Vec<Option<Arc<Row>>>)> = Vec::new();
    // What parted each class from the one last compared with it parts it from most others too.
    let mut parting = Vec::new();
    let mut alike: BTreeMap<Likeness, Vec<usize>> = BTreeMap::new();
    for at in order {
        let own = rows(model, (Set::of(&[at]), is_kept), settings);
        if own.iter().all(Option::is_none) || odds(at) <= 0.0 {
            continue;
        }
        let shows = !same_rows(model, &own, &sound);
        let likeness = likeness((model, apart), at, shows);
        let candidates = alike.entry(likeness).or_default();
        let found = candidates.iter().copied().find(|&class| {
            let (Some((_, rows)), Some(last)) = (classes.get(class), parting.get_mut(class)) else {
                return false;
            };
            if is_parted(model, rows, &own, *last) {
                return false;
            }
            let place = where_parted(model, rows, &own);
            *last = place.unwrap_or(*last);
            place.is_none()
        });
        match found.and_then(|class| classes.get_mut(class)) {
            Some((class, _)) => {
                class.members.push((at, odds(at)));
                class.odds += odds(at);
            }
            None => {
                if !is_kept {
                    model.keep(Set::of(&[at]), settings, &own);
                }
                candidates.push(classes.len());
                parting.push((0, 0));
                let is_nuisance =
                    model.possibles.get(at).is_some_and(|possible| possible.fault().is_none());
                let members = vec![(at, odds(at))];
                let class = Class { lead: at, members, odds: odds(at), is_nuisance, shows };
                classes.push((class, own));
            }
        }
    }
    let mut classes: Vec<Class> = classes.into_iter().map(|(class, _)| class).collect();
    for class in &mut classes {
        for (_, share) in &mut class.members {
            *share /= class.odds;
        }
    }
    classes
}

/// Numbers of rows that are kept of every possibility, for each setting: 320 MB.
const KEPT_MAX: usize = 40_000_000;

fn rows(
    model: &Model<'_>,
    (set, is_kept): (Set, bool),
    settings: &[usize],
) -> Vec<Option<Arc<Row>>> {
    let row = |&setting: &usize| match is_kept {
        true => model.row(set, setting),
        false => model.row_for_now(set, setting),
    };
    settings.iter().map(row).collect()
}

fn likeness((model, apart): (&Model<'_>, &Apart), at: usize, shows: bool) -> Likeness {
    let Some(possible) = model.possibles.get(at) else { return Likeness::default() };
    let boxes = if shows { Vec::new() } else { possible.boxes.clone() };
    let is_warm = makes_poor_contact(possible)
        && possible.boxes.iter().any(|place| apart.warm.contains(place));
    let is_worked_on = possible.boxes.iter().any(|place| apart.worked_on.contains(place));
    let parted = [apart.mended.contains(&at), is_warm, is_worked_on];
    match &possible.kind {
        Kind::Fault(fault) => (
            match fault.kind {
                // The same gap, in the cable between two joints.
                FaultKind::BrokenConductor => FaultKind::OpenJoint,
                kind => kind,
            }
            .code()
            .to_owned(),
            fault.conductors.clone(),
            fault.level_ohm.map(f64::to_bits),
            boxes,
            parted,
        ),
        // Invisible alone, each of these is its own.
        Kind::UnmentionedLoad { outlet, ohm } => (
            "unmentioned".to_owned(),
            vec![if shows { String::new() } else { outlet.clone() }],
            Some(ohm.to_bits()),
            boxes,
            parted,
        ),
        Kind::IdleLoad { load } => ("idle".to_owned(), vec![load.clone()], None, boxes, parted),
        Kind::ForgottenLoad { load } => {
            ("forgotten".to_owned(), vec![load.clone()], None, boxes, parted)
        }
    }
}

/// What a set of possibilities shows in each setting.
type Shown = [Option<Arc<Row>>];

fn same_rows(model: &Model<'_>, one: &Shown, other: &Shown) -> bool {
    where_parted(model, one, other).is_none()
}

/// The first setting and channel in which two show otherwise.
fn where_parted(model: &Model<'_>, one: &Shown, other: &Shown) -> Option<(usize, usize)> {
    // Of two that nothing is looked at with, one may still trip something.
    let n_channels = model.predictor.looks.channels.len().max(1);
    (0..one.len()).find_map(|setting| {
        let parts = |channel: &usize| is_parted(model, one, other, (setting, *channel));
        // What stands far apart along a run is told apart at a few channels soon; then all that
        // differs at all is looked at.
        let far = (0..n_channels).step_by(FAR_STEP).find(parts);
        let rows = [one, other].map(|rows| rows.get(setting).and_then(Option::as_deref));
        let [Some(one), Some(other)] = rows else { return far.map(|channel| (setting, channel)) };
        let mut differing = differing(one, other);
        let channel = far.or_else(|| differing.find(parts));
        channel.map(|channel| (setting, channel))
    })
}

/// Such a step has nothing in common with how many channels a place has.
const FAR_STEP: usize = 32;

/// Channels that are not the same to anybody.
fn differing<'r>(one: &'r Row, other: &'r Row) -> impl Iterator<Item = usize> + 'r {
    let (a, b) = (&one.values, &other.values);
    let each = a.iter().zip(b).enumerate();
    let differing = each.filter(|(_, (a, b))| !is_one_to_anybody(**a, **b));
    // What only one of them was asked for is looked at too.
    let more = a.len().min(b.len())..a.len().max(b.len());
    differing.map(|(channel, _)| channel).chain(more)
}

/// Whether two show otherwise in a channel in a setting; with the first one, whether they trip
/// otherwise.
fn is_parted(
    model: &Model<'_>,
    one: &Shown,
    other: &Shown,
    (setting, channel): (usize, usize),
) -> bool {
    let looks = (&model.chances, &*model.predictor.looks);
    let rows = [one, other].map(|rows| rows.get(setting).and_then(Option::as_ref));
    match rows {
        [Some(one), Some(other)] => {
            channel == 0 && one.tripped != other.tripped
                || shows_apart(looks, one, other, (channel, FINE_SPREADS))
        }
        [None, None] => false,
        _ => true,
    }
}

/// Whether nothing that is looked at parts two rows, ohms by so many standard deviations.
pub(super) fn looks_same(
    looks: (&Chances, &Looks),
    one: &Row,
    other: &Row,
    ohm_spreads: f64,
) -> bool {
    let parts = |channel| shows_apart(looks, one, other, (channel, ohm_spreads));
    one.tripped == other.tripped && !(0..looks.1.channels.len()).any(parts)
}

/// Whether a channel parts two rows, ohms by so many standard deviations.
pub(super) fn shows_apart(
    (chances, looks): (&Chances, &Looks),
    one: &Row,
    other: &Row,
    (at, ohm_spreads): (usize, f64),
) -> bool {
    let Some(channel) = looks.channels.get(at) else { return false };
    let (a, b) = (one.value(at), other.value(at));
    if a.is_nan() || b.is_nan() {
        return a.is_nan() != b.is_nan();
    }
    // Most are equal but for what nobody could read: the rest is asked only of what is not.
    !is_one_to_anybody(a, b)
        && parted(
            chances,
            channel,
            (a, channel.gives_way(a, one)),
            (b, channel.gives_way(b, other)),
            ohm_spreads,
        )
}

/// Chances of what is shown that differ by this much are parted by a look or two.
const PARTED_CHANCE: f64 = 0.25;

/// Figures that differ by so many standard deviations of one reading are parted.
pub(super) const PARTED_SPREADS: f64 = 1.5;

/// Ohms are read from both ends of a run, and several of them part what one does not.
const FINE_SPREADS: f64 = 0.5;

/// Shares of a load's voltage that differ by this much can be seen.
const PARTED_SHARE: f64 = 0.08;

/// Whether two numbers of a channel, each with what it gives way by, are seen apart.
fn parted(
    chances: &Chances,
    channel: &Channel,
    (a, yields_a): (f64, f64),
    (b, yields_b): (f64, f64),
    ohm_spreads: f64,
) -> bool {
    let reaches = |band, value, yields| chances.reaches(band, value, yields);
    let by = |band| (reaches(band, a, yields_a) - reaches(band, b, yields_b)).abs() > PARTED_CHANCE;
    match &channel.measure {
        Measure::Indicator { dim, lit, .. } => by(*dim) || by(*lit),
        Measure::Step { steps, .. } => steps.iter().any(|(_, band)| by(*band)),
        Measure::Alarm { band, .. } => by(*band),
        Measure::Share { .. } => (a - b).abs() > PARTED_SHARE,
        // Nobody reads these.
        Measure::Potential { .. } | Measure::Case { .. } | Measure::Lamp => false,
        Measure::Volt { .. } if channel.instrument.is_none() => false,
        Measure::Volt { .. }
        | Measure::Lost
        | Measure::LostAlong { .. }
        | Measure::Ampere
        | Measure::Ohm { .. } => {
            let spread =
                chances.spread(channel, a, yields_a).max(chances.spread(channel, b, yields_b));
            let spread = chances.spread_below(channel, a.max(b), spread);
            let spreads = match channel.measure {
                Measure::Ohm { .. } => ohm_spreads,
                _ => PARTED_SPREADS,
            };
            (a - b).abs() > spreads * spread
        }
    }
}
