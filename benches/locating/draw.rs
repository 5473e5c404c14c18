//! Drawing what is wrong: rates per place, the number of troubles at once, and kinds that are in
//! no list. The rates are judgement, from the same reading of inspections and call-outs as the
//! project's priors but not those figures, and at full mismatch every kind is off by a factor of
//! its own in each scenario.

use crate::building::{Building, Draws};
use crate::hidden::{GROUND, HOT, JointAt, Level, NEUTRAL, Part, Trouble};
use crate::random::Chance;

/// Rates of kinds, in one of ten thousand.
const TERMINAL: f64 = 3.0;
const SPLICE: f64 = 1.5;
const SCREW: f64 = 0.7;
const STRAP: f64 = 0.3;
const BAR: f64 = 4.0;
const CABLE: f64 = 0.5;
/// Joints of grounds are this many times as often bad: nobody notices.
const GROUND_TIMES: f64 = 6.0;
const REVERSED: f64 = 60.0;
const NEUTRAL_GROUND: f64 = 15.0;
const HOT_GROUND: f64 = 1.0;
const ARRIVAL: f64 = 7.0;
const BOOTLEG: f64 = 50.0;
const MOIST: f64 = 1.0;
const SHORT: f64 = 1.5;
const CASE_LEAK: f64 = 10.0;
const SERVICE: f64 = 20.0;
const OFF: f64 = 20.0;
const LANDING: f64 = 2.0;
const SUPPLY: f64 = 15.0;

/// Of bad joints so many are open; and of these so many leak.
const OPEN_SHARE: f64 = 0.65;
const LEAKY_SHARE: f64 = 0.1;

/// Two at once, and at full mismatch three.
const PAIRS: f64 = 0.11;
const TRIPLES: f64 = 0.03;

/// Deviation of the logarithm of a kind's rate at full mismatch.
const RATE_OFF: f64 = 0.5;

/// Kinds of which each rate is off by a factor of its own.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Joint,
    Cable,
    Device,
    Arrival,
    Bootleg,
    Moist,
    CaseLeak,
    Service,
    Off,
    Landing,
    Supply,
}

/// One place where something of a kind may be wrong.
#[derive(Clone, Copy)]
enum Spot {
    Joint(JointAt),
    Cable(usize, usize),
    Device(usize, (usize, usize)),
    Arrival(usize, (usize, usize)),
    Bridge(usize, (usize, usize), f64),
    CaseLeak(usize),
    Service,
    Off,
    Landing,
    Supply,
}

/// Draws what is wrong with a building, all of it in the list of the diagnosis.
pub(crate) fn listed(building: &Building, level: Level, chance: &mut Chance) -> Vec<Trouble> {
    let full = level == Level::Full;
    let count = if full && chance.happens(TRIPLES) {
        3
    } else if chance.happens(PAIRS) {
        2
    } else {
        1
    };
    let mut off = [1.0; 11];
    if full {
        off = off.map(|_| (RATE_OFF * chance.normal()).exp());
    }
    let spots = spots(building);
    let weights: Vec<f64> =
        spots.iter().map(|(_, kind, rate)| rate * off[*kind as usize]).collect();
    let mut troubles: Vec<Trouble> = Vec::new();
    while troubles.len() < count {
        let (spot, ..) = spots[chance.weighted(&weights)];
        let trouble = befalls(spot, full, chance);
        if !troubles.iter().any(|other| subject(*other) == subject(trouble)) {
            troubles.push(trouble);
        }
    }
    troubles
}

/// Draws one trouble of the odd kinds, two of which are in no list.
pub(crate) fn unlisted(building: &Building, chance: &mut Chance) -> Trouble {
    let n = building.boxes.len();
    let at = chance.below(n);
    let wire = chance.below(2);
    match chance.below(3) {
        0 => Trouble::Foreign {
            at,
            wire: if wire == 0 { GROUND } else { NEUTRAL },
            ohm: chance.decades(20.0, 5e3),
        },
        1 => Trouble::Choke { at, wire, ohm: chance.decades(30.0, 1e3) },
        _ => Trouble::Fickle(JointAt { at, wire, part: Part::Far }),
    }
}

fn spots(building: &Building) -> Vec<(Spot, Kind, f64)> {
    let mut spots = vec![
        (Spot::Service, Kind::Service, SERVICE),
        (Spot::Off, Kind::Off, OFF),
        (Spot::Landing, Kind::Landing, LANDING),
        (Spot::Supply, Kind::Supply, SUPPLY),
    ];
    let n = building.boxes.len();
    for at in 0..n {
        for wire in [HOT, NEUTRAL, GROUND] {
            let times = if wire == GROUND { GROUND_TIMES } else { 1.0 };
            for (part, rate) in parts(building, at, wire) {
                let joint = Spot::Joint(JointAt { at, wire, part });
                spots.push((joint, Kind::Joint, rate * times));
            }
            spots.push((Spot::Cable(at, wire), Kind::Cable, CABLE));
        }
        let last = at + 1 == n;
        for (wires, rate) in [
            ((HOT, NEUTRAL), REVERSED),
            ((NEUTRAL, GROUND), NEUTRAL_GROUND),
            ((HOT, GROUND), HOT_GROUND),
        ] {
            spots.push((Spot::Device(at, wires), Kind::Device, rate));
            if !last {
                let share = ARRIVAL * rate / REVERSED;
                spots.push((Spot::Arrival(at, wires), Kind::Arrival, share));
            }
        }
        spots.push((Spot::Bridge(at, (NEUTRAL, GROUND), 2e-3), Kind::Bootleg, BOOTLEG));
        for wires in [(HOT, NEUTRAL), (HOT, GROUND), (NEUTRAL, GROUND)] {
            spots.push((Spot::Bridge(at, wires, 300.0), Kind::Moist, MOIST));
        }
        for wires in [(HOT, NEUTRAL), (HOT, GROUND)] {
            spots.push((Spot::Bridge(at, wires, 2e-3), Kind::Moist, SHORT));
        }
    }
    for (number, load) in building.loads.iter().enumerate() {
        if load.at < n && load.draws == Draws::Heat {
            spots.push((Spot::CaseLeak(number), Kind::CaseLeak, CASE_LEAK));
        }
    }
    spots
}

/// The joints of a conductor that belong to a box, with their rates.
fn parts(building: &Building, at: usize, wire: usize) -> Vec<(Part, f64)> {
    let through = |at: usize| building.boxes[at].fed_through && wire != GROUND;
    let last = at + 1 == building.boxes.len();
    let near = match at.checked_sub(1) {
        None if wire == HOT => SCREW,
        None => BAR,
        Some(before) if through(before) => TERMINAL,
        Some(_) => SPLICE,
    };
    let far = match (through(at), last) {
        (true, _) => TERMINAL,
        (false, true) => SCREW,
        (false, false) => SPLICE,
    };
    let mut parts = vec![(Part::Near, near), (Part::Far, far)];
    if !last {
        if through(at) {
            parts.push((Part::Pigtail, STRAP));
        } else {
            parts.extend([(Part::Pigtail, SPLICE), (Part::Screw, SCREW)]);
        }
    }
    parts
}

fn befalls(spot: Spot, full: bool, chance: &mut Chance) -> Trouble {
    match spot {
        Spot::Joint(joint) if chance.happens(OPEN_SHARE) => {
            let leaky = chance.happens(LEAKY_SHARE);
            let gap = match (leaky, full) {
                (false, _) => f64::INFINITY,
                (true, false) => 100e3,
                (true, true) => chance.decades(20e3, 2e6),
            };
            Trouble::Open(joint, gap)
        }
        Spot::Joint(joint) => Trouble::Bad(joint, bad_ohm(joint.wire, full, chance)),
        Spot::Cable(at, wire) => {
            let share = if full { chance.between(0.05, 0.95) } else { 0.5 };
            Trouble::Broken { at, wire, share }
        }
        Spot::Device(at, wires) => Trouble::ExchangedAtDevice { at, wires },
        Spot::Arrival(at, wires) => Trouble::ExchangedOnArrival { at, wires },
        Spot::Bridge(at, wires, ohm) => {
            let ohm = if full { ohm * chance.decades(0.5, 2.0) } else { ohm };
            Trouble::Bridged { at, wires, ohm }
        }
        Spot::CaseLeak(load) => {
            let ohm = if full { chance.decades(700.0, 6e3) } else { 2e3 };
            Trouble::CaseLeak { load, ohm }
        }
        Spot::Service if chance.happens(0.6) => Trouble::ServiceNeutral(f64::INFINITY),
        Spot::Service => {
            Trouble::ServiceNeutral(if full { chance.decades(0.15, 8.0) } else { 5.0 })
        }
        Spot::Off => Trouble::BreakerOff,
        Spot::Landing => Trouble::NeutralOnOtherLeg,
        Spot::Supply => Trouble::Sag(if full { chance.between(0.5, 0.9) } else { 0.72 }),
    }
}

fn bad_ohm(wire: usize, full: bool, chance: &mut Chance) -> f64 {
    match (full, wire) {
        (true, _) => chance.decades(0.15, 25.0),
        (false, GROUND) => 20.0,
        (false, _) => [0.2, 5.0][chance.below(2)],
    }
}

/// What a trouble is about: two of one subject mean nothing.
fn subject(trouble: Trouble) -> (u8, usize, usize) {
    match trouble {
        Trouble::Open(joint, _) | Trouble::Bad(joint, _) | Trouble::Fickle(joint) => {
            (joint.part as u8, joint.at, joint.wire)
        }
        Trouble::Broken { at, wire, .. } | Trouble::Choke { at, wire, .. } => (10, at, wire),
        Trouble::ExchangedAtDevice { at, .. } => (11, at, 0),
        Trouble::ExchangedOnArrival { at, .. } => (12, at, 0),
        Trouble::Bridged { at, wires, .. } => (13, at, wires.0 * 3 + wires.1),
        Trouble::CaseLeak { load, .. } => (14, load, 0),
        Trouble::ServiceNeutral(_) => (15, 0, 0),
        Trouble::BreakerOff => (16, 0, 0),
        Trouble::NeutralOnOtherLeg => (17, 0, 0),
        Trouble::Foreign { at, .. } => (18, at, 0),
        Trouble::Sag(_) => (19, 0, 0),
    }
}
