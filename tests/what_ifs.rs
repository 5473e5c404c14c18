//! What-ifs answer as a solve of the whole network does.

#![allow(clippy::unwrap_used)] // A test crate: a panic is its answer.
#![allow(clippy::print_stdout)] // Figures, seen with `--nocapture`.

mod support;

use slotwise::netlist::{Law, Netlist, NodeId, Role};
use slotwise::quantity::{Impedance, Phasor};
use slotwise::solution::{Change, PortSight, PortSystem, Refusal, WhatIf, solve};
use support::chance::{Chance, SUPPLIES, Supply, change, daisy_chain};

/// Voltages against the larger of the value and 1 mV.
const VOLTAGE_FLOOR_VOLT: f64 = 1e-3;
/// A millivolt between conductors at 240 V is told to eps 240 V = 5e-14 V.
const TOLERANCE: f64 = 1e-9;
/// Sums of what is stored keep all digits, whatever the contrast.
const IMPEDANCE_TOLERANCE: f64 = 1e-13;

struct Worst {
    voltage: f64,
    impedance: f64,
    metered: f64,
    n: usize,
    whole: u64,
}

/// Slots of every box: hot, neutral, ground.
fn hubs(netlist: &Netlist, n_boxes: usize) -> Vec<[NodeId; 3]> {
    let node = |place: usize, conductor: &str| {
        netlist.find_node(&format!("{place}.hub.{conductor}").as_str().into()).unwrap()
    };
    (0..n_boxes).map(|place| ["h", "n", "g"].map(|conductor| node(place, conductor))).collect()
}

const N_BOXES: usize = 6;

/// What is asked again and again is answered by other ways than what is asked once: from the bags
/// between the changes, from those put together, and at last from the two sides of a cut.
const ASKED: usize = 64;
const LOOKED_AT: [usize; 5] = [0, 1, 3, 20, ASKED - 1];

/// A run, or a ring whose far end comes back to the bus.
fn building(seed: u64, supply: Supply, contrast: f64, ring: bool) -> Netlist {
    let mut netlist = daisy_chain(seed, N_BOXES, supply, contrast);
    if ring {
        for (hub, conductor) in
            hubs(&netlist, N_BOXES)[N_BOXES - 1].into_iter().zip(["h", "n", "g"])
        {
            let bus = netlist.find_node(&format!("bus.{conductor}").as_str().into()).unwrap();
            let law = Law::resistance(0.03);
            netlist.add(format!("ring {conductor}"), hub, bus, Role::Wire, law).unwrap();
        }
    }
    netlist
}

fn miss(found: Phasor, expected: Phasor) -> f64 {
    (found - expected).magnitude() / expected.magnitude().max(VOLTAGE_FLOOR_VOLT)
}

impl Worst {
    fn at_port(&mut self, found: &PortSight, exact: &PortSight) {
        assert_eq!(found.voltage_volt.is_some(), exact.voltage_volt.is_some());
        let (Some(v), Some(v0)) = (found.voltage_volt, exact.voltage_volt) else { return };
        self.voltage = self.voltage.max(miss(v, v0));
        self.n += 1;
        let (Some(z), Some(z0)) = (found.impedance, exact.impedance) else { return };
        let apart =
            (z.resistance_ohm - z0.resistance_ohm).hypot(z.reactance_ohm - z0.reactance_ohm);
        self.impedance = self.impedance.max(apart / z0.resistance_ohm.hypot(z0.reactance_ohm));
        for ohm in [10e6, 3e3, 12.0] {
            let [v, v0] = [found, exact].map(|s| s.behind(Impedance::resistance(ohm)).unwrap());
            self.metered = self.metered.max(miss(v, v0));
        }
    }
}

/// A few changes of a building, and the building so changed.
fn changed(
    chance: &mut Chance,
    netlist: &Netlist,
    whatif: &WhatIf,
    may_join: &[(NodeId, NodeId)],
) -> (Vec<Change>, Netlist) {
    let mut changed = netlist.clone();
    let mut changes: Vec<Change> = Vec::new();
    for _ in 0..chance.below(4) {
        let (element, law) = change(chance, netlist);
        changed.set_law(element, law).unwrap();
        changes.push(whatif.change(element, law).unwrap());
    }
    if chance.happens(0.4) {
        let (a, b) = may_join[chance.below(may_join.len())];
        let law = Law::resistance(chance.spread(1e-3, 1e4));
        changed.add("bridge", a, b, Role::Bridge, law).unwrap();
        changes.push(whatif.join(a, b, law).unwrap());
    }
    (changes, changed)
}

fn compare(supply: Supply, contrast: f64, ring: bool) -> Worst {
    let mut worst = Worst { voltage: 0.0, impedance: 0.0, metered: 0.0, n: 0, whole: 0 };
    for seed in 0..3 {
        let netlist = building(seed, supply, contrast, ring);
        let hubs = hubs(&netlist, N_BOXES);
        let near = |hub: &[NodeId; 3]| [(0, 1), (0, 2), (1, 2)].map(|(i, j)| (hub[i], hub[j]));
        let ports: Vec<_> = hubs.iter().flat_map(near).collect();
        let earths: Vec<_> = hubs.iter().flatten().map(|&node| (node, Netlist::EARTH)).collect();
        let far = (hubs[1][0], hubs[4][2]);
        let may_join = [ports.clone(), vec![far]].concat();
        let whatif = WhatIf::new(&netlist, &may_join, &[ports.clone(), earths.clone()]).unwrap();
        // Before anything is put, the network as it is.
        let as_it_is = PortSystem::new(&netlist, &ports).unwrap();
        for (at, found) in whatif.read(0, &mut whatif.work()).unwrap().iter().enumerate() {
            assert_eq!(found.impedance.is_some(), as_it_is.impedance(at, at).is_some());
        }
        let mut work = whatif.work();
        let mut chance = Chance::new(seed + 77);
        for _ in 0..14 {
            let (changes, changed) = changed(&mut chance, &netlist, &whatif, &may_join);
            let exact = PortSystem::new(&changed, &ports).unwrap();
            let fresh = solve(&changed).unwrap();
            for asked in 0..ASKED {
                whatif.put(&changes, &mut work).unwrap();
                if !LOOKED_AT.contains(&asked) {
                    continue;
                }
                for (at, found) in whatif.read(0, &mut work).unwrap().iter().enumerate() {
                    let (voltage_volt, impedance) =
                        (exact.open_circuit(at), exact.impedance(at, at));
                    worst.at_port(found, &PortSight { voltage_volt, impedance });
                }
                let found = whatif.read(0, &mut work).unwrap().to_vec();
                for (found, volts) in found.iter().zip(whatif.read_voltages(0, &mut work).unwrap())
                {
                    assert_eq!((volts.voltage_volt, volts.impedance), (found.voltage_volt, None));
                }
                let found = whatif.read_voltages(1, &mut work).unwrap();
                for (found, &(node, _)) in found.iter().zip(&earths) {
                    let voltage_volt = fresh.potential(node);
                    worst.at_port(found, &PortSight { voltage_volt, impedance: None });
                }
            }
        }
        worst.whole += work.solved_whole();
    }
    worst
}

#[test]
fn changes_of_any_kind_show_what_a_whole_solve_shows() {
    for supply in SUPPLIES {
        for contrast in [1e10, 1e14, 1e18] {
            for ring in [false, true] {
                let worst = compare(supply, contrast, ring);
                let Worst { voltage, impedance, metered, n, whole } = worst;
                let case = format!("{supply:?}, {contrast:e}, ring: {ring}");
                println!("{case}: {n} ports, {voltage:.1e} {impedance:.1e} {metered:.1e}");
                assert!(voltage <= TOLERANCE && metered <= TOLERANCE, "{case}");
                assert!(impedance <= IMPEDANCE_TOLERANCE, "{case}");
                assert_eq!(whole, 0, "{case}");
            }
        }
    }
}

/// Every joint of a run of twelve boxes open, every two slots of a box bridged, and two changes that
/// only a whole solve answers.
fn run_of_twelve() -> (WhatIf, Vec<Change>) {
    const BOXES: usize = 12;
    let netlist = daisy_chain(5, BOXES, Supply::Bonded, 1e12);
    let hubs = hubs(&netlist, BOXES);
    let near = |hub: &[NodeId; 3]| [(0, 1), (0, 2), (1, 2)].map(|(i, j)| (hub[i], hub[j]));
    let ports: Vec<_> = hubs.iter().flat_map(near).collect();
    let earths: Vec<_> = hubs.iter().flatten().map(|&node| (node, Netlist::EARTH)).collect();
    let whatif = WhatIf::new(&netlist, &ports, &[ports.clone(), earths]).unwrap();
    let is_joint = |law: Law| matches!(law, Law::Impedance(z) if z.resistance_ohm < 4e-4);
    let joints = netlist.elements().filter(|&id| is_joint(netlist.element(id).law));
    let mut all: Vec<Change> = joints.map(|id| whatif.change(id, Law::Open).unwrap()).collect();
    let bridge = Law::resistance(0.002);
    all.extend(ports.iter().map(|&(a, b)| whatif.join(a, b, bridge).unwrap()));
    let far = |place: usize| (hubs[place][0], hubs[11 - place][2]);
    let whole = [far(0), far(4)].map(|(a, b)| whatif.join(a, b, bridge).unwrap());
    all.extend(whole);
    (whatif, all)
}

/// Asks for sets together and one by one; how many sets there were.
fn together_and_alone(whatif: &WhatIf, sets: &[Vec<Change>], impedances: bool) -> u64 {
    let (mut together, mut alone) = (whatif.work(), whatif.work());
    for group in [0, 1] {
        let mut told: Vec<Vec<PortSight>> = vec![Vec::new(); sets.len()];
        let tell = |at: usize, seen: Result<&[PortSight], _>| {
            assert!(told[at].is_empty(), "once each");
            told[at] = seen.unwrap().to_vec();
        };
        match impedances {
            true => whatif.read_each(sets, group, &mut together, tell).unwrap(),
            false => whatif.read_voltages_each(sets, group, &mut together, tell).unwrap(),
        }
        for (set, told) in sets.iter().zip(&told) {
            match impedances {
                true => whatif.put(set, &mut alone).unwrap(),
                false => whatif.put_voltages(set, &mut alone).unwrap(),
            }
            assert_eq!(whatif.read(group, &mut alone).unwrap(), told);
        }
        // The last stays put.
        let last = whatif.read(1 - group, &mut together).unwrap().to_vec();
        assert_eq!(last, whatif.read(1 - group, &mut alone).unwrap());
    }
    assert_eq!(together.answered(), alone.answered());
    assert_eq!(together.solved_whole(), alone.solved_whole());
    assert!(alone.solved_whole() < alone.answered() / 20);
    together.answered()
}

#[test]
fn all_pairs_asked_for_together_show_what_each_shows_by_itself_to_the_last_digit() {
    let (whatif, all) = run_of_twelve();
    let pairs: Vec<Vec<Change>> = (0..all.len())
        .flat_map(|one| (one + 1..all.len()).map(move |other| vec![one, other]))
        .map(|set| set.into_iter().map(|at| all[at]).collect())
        .collect();
    for impedances in [false, true] {
        assert!(together_and_alone(&whatif, &pairs, impedances) > 5_000);
    }
}

#[test]
fn thousands_of_triples_asked_for_together_show_what_each_shows_by_itself_to_the_last_digit() {
    let (whatif, all) = run_of_twelve();
    let mut chance = Chance::new(2);
    let n_linear = all.len() - 2;
    let mut triples: Vec<Vec<Change>> = Vec::new();
    for _ in 0..60 {
        // One pair with all others, as they come.
        let pair = [chance.below(n_linear), chance.below(n_linear)];
        triples.extend(
            (0..n_linear).map(|third| [pair[0], pair[1], third].map(|at| all[at]).to_vec()),
        );
        triples.push(Vec::new());
    }
    assert!(together_and_alone(&whatif, &triples, true) > 10_000);
}

#[test]
fn a_choke_and_a_capacitor_in_resonance_asked_for_together_show_what_they_show_alone() {
    let mut netlist = Netlist::new(60.0);
    let mut ends = ["h", "n"].map(|name| netlist.node(&name.into()));
    let emf_volt = Phasor::new(120.0, 0.0);
    let supply = Law::Source { emf_volt, impedance: Impedance::resistance(0.05) };
    netlist.add("supply", ends[0], ends[1], Role::Winding, supply).unwrap();
    netlist.add("bond", ends[1], Netlist::EARTH, Role::Bond, Law::resistance(0.01)).unwrap();
    let mut ports = Vec::new();
    let mut joints = Vec::new();
    for place in 0..40 {
        for (end, conductor) in ends.iter_mut().zip(["h", "n"]) {
            let next = netlist.node(&format!("{place}.{conductor}").as_str().into());
            let mut add = |what: &str, other: NodeId, ohm: f64| {
                let name = format!("{what} {place} {conductor}");
                netlist.add(name, next, other, Role::Lumped, Law::resistance(ohm)).unwrap()
            };
            joints.push(add("joint", *end, 1e-3));
            add("insulation", Netlist::EARTH, 1e8);
            *end = next;
        }
        ports.push((ends[0], ends[1]));
    }
    let whatif = WhatIf::new(&netlist, &ports, std::slice::from_ref(&ports)).unwrap();
    let open = whatif.change(joints[0], Law::Open).unwrap();
    let put = |place: usize, ohm: f64| {
        let law = Law::Impedance(Impedance::new(0.0, ohm));
        whatif.join(ports[place].0, ports[place].1, law).unwrap()
    };
    // The hot conductor hangs on leakage, a choke and a capacitor that is nearly as much.
    let capacitors = [-100.001, -100.7, -104.0, -50.0];
    let sets: Vec<Vec<Change>> = (0..400)
        .map(|at| vec![open, put(12 + at % 3, 100.0), put(30, capacitors[at / 3 % 4])])
        .collect();
    let (mut together, mut alone) = (whatif.work(), whatif.work());
    let mut told = vec![Vec::new(); sets.len()];
    let tell = |at: usize, seen: Result<&[PortSight], _>| told[at] = seen.unwrap().to_vec();
    whatif.read_each(&sets, 0, &mut together, tell).unwrap();
    let mut most = 1.0_f64;
    for (set, told) in sets.iter().zip(&told) {
        whatif.put(set, &mut alone).unwrap();
        let cancelled = alone.accuracy_indicator();
        most = most.max(cancelled);
        for (seen, told) in whatif.read(0, &mut alone).unwrap().iter().zip(told) {
            let (seen, told) = (seen.voltage_volt.unwrap(), told.voltage_volt.unwrap());
            // What cancels takes as many digits from either.
            assert!(miss(told, seen) <= 1e-12 * cancelled, "{told:?} {seen:?}");
        }
    }
    assert!(most > 100.0, "{most}");
    assert_eq!(together.answered(), sets.len() as u64);
}

#[test]
fn a_choke_and_a_capacitor_that_cancel_to_the_last_digit_are_refused_whichever_way_they_are_asked()
{
    let mut netlist = Netlist::new(60.0);
    let earth = Netlist::EARTH;
    let [hot, lamp, well] = ["hot", "lamp", "well"].map(|name| netlist.node(&name.into()));
    let emf_volt = Phasor::new(120.0, 0.0);
    let reactance = |ohm: f64| Law::Impedance(Impedance::new(0.0, ohm));
    let behind_choke = Law::Source { emf_volt, impedance: Impedance::new(0.0, 10.0) };
    netlist.add("supply", hot, earth, Role::Winding, behind_choke).unwrap();
    netlist.add("wire", hot, lamp, Role::Wire, Law::resistance(0.1)).unwrap();
    let capacitor = netlist.add("capacitor", hot, earth, Role::Lumped, reactance(-8.0)).unwrap();
    netlist.add("rod", well, earth, Role::Electrode, Law::resistance(25.0)).unwrap();
    for groups in
        [vec![(hot, earth)], vec![(lamp, hot)], vec![(lamp, earth), (hot, earth), (lamp, hot)]]
    {
        let groups = [groups];
        let whatif = WhatIf::new(&netlist, &[(lamp, earth)], &groups).unwrap();
        let cancelling = [
            vec![whatif.change(capacitor, reactance(-10.0)).unwrap()],
            vec![
                whatif.change(capacitor, Law::Open).unwrap(),
                whatif.join(hot, earth, reactance(-10.0)).unwrap(),
            ],
        ];
        let is_refused =
            |seen: &Result<&[PortSight], Refusal>| matches!(seen, Err(Refusal::Resonance { .. }));
        for set in &cancelling {
            let mut work = whatif.work();
            let put = whatif.put(set, &mut work).and_then(|()| whatif.read(0, &mut work));
            assert!(is_refused(&put), "{put:?}");
            let mut work = whatif.work();
            let put = whatif.put_voltages(set, &mut work);
            let put = put.and_then(|()| whatif.read_voltages(0, &mut work));
            assert!(is_refused(&put), "{put:?}");
        }
        let mut n_refused = 0;
        let tell =
            |_, seen: Result<&[PortSight], Refusal>| n_refused += usize::from(is_refused(&seen));
        whatif.read_each(&cancelling, 0, &mut whatif.work(), tell).unwrap();
        assert_eq!(n_refused, cancelling.len());
        // Of other sizes they are told: 120 V · 8 / (8 - 10), and the lamp's wire carries nothing.
        let mut work = whatif.work();
        whatif.put(&[], &mut work).unwrap();
        let seen = whatif.read(0, &mut work).unwrap()[0].voltage_volt.unwrap();
        let expected_volt = if groups[0][0] == (lamp, hot) { 0.0 } else { 480.0 };
        assert!((seen.magnitude() - expected_volt).abs() < 1e-9 * 480.0, "{seen:?}");
    }
}

#[test]
fn no_sets_no_such_group_and_the_room_of_another_network_are_answered() {
    let (whatif, all) = run_of_twelve();
    let none: [Vec<Change>; 0] = [];
    whatif.read_each(&none, 0, &mut whatif.work(), |_, _| panic!("nothing was asked")).unwrap();
    let sets = [vec![all[0]]];
    let of_group = whatif.read_each(&sets, 2, &mut whatif.work(), |_, _| panic!("no group"));
    assert_eq!(
        of_group.unwrap_err().to_string(),
        whatif.read(2, &mut whatif.work()).unwrap_err().to_string()
    );
    let mut of_another = run_of_twelve().0.work();
    assert!(whatif.read_each(&sets, 0, &mut of_another, |_, _| panic!("another's room")).is_err());
}

/// A run in which the ports of one group, times the rows of the network, come to more than a million.
const LONG_RUN: usize = 180;

#[test]
fn a_joint_in_a_run_of_a_hundred_and_eighty_boxes_is_opened_without_solving_the_run() {
    let netlist = daisy_chain(3, LONG_RUN, Supply::Bonded, 1e10);
    let pairs = |[hot, neutral, ground]: [NodeId; 3]| {
        [(hot, neutral), (hot, ground), (neutral, ground), (hot, Netlist::EARTH)]
    };
    let ports: Vec<(NodeId, NodeId)> =
        hubs(&netlist, LONG_RUN).into_iter().flat_map(pairs).collect();
    assert!(ports.len() * netlist.nodes().len() > 1_000_000, "{}", netlist.nodes().len());
    let what_if = WhatIf::new(&netlist, &[], &[ports]).unwrap();
    let mut work = what_if.work();
    let is_contact = |law: Law| match law {
        Law::Impedance(contact) => contact.resistance_ohm < 1e-3,
        _ => false,
    };
    let contacts = netlist.elements().filter(|&id| is_contact(netlist.element(id).law));
    let mut n_opened = 0;
    for contact in contacts.step_by(97) {
        what_if.put(&[what_if.change(contact, Law::Open).unwrap()], &mut work).unwrap();
        what_if.read_voltages(0, &mut work).unwrap();
        n_opened += 1;
    }
    assert!(n_opened > 5);
    assert_eq!(work.solved_whole(), 0);
}

#[test]
fn what_no_part_can_have_is_refused_and_a_lamp_is_answered_by_the_whole_network() {
    let netlist = daisy_chain(3, N_BOXES, SUPPLIES[0], 1e6);
    let hubs = hubs(&netlist, N_BOXES);
    let ports: Vec<(NodeId, NodeId)> = hubs.iter().map(|hub| (hub[0], hub[1])).collect();
    let whatif = WhatIf::new(&netlist, &ports, std::slice::from_ref(&ports)).unwrap();
    assert!(whatif.is_fast());
    let (a, b) = ports[2];
    let first = netlist.elements().next().unwrap();
    let nowhere = {
        let mut larger = netlist.clone();
        larger.node(&"nowhere".into())
    };
    let wrong = Law::resistance(f64::NAN);
    assert!(whatif.change(first, wrong).is_err() && whatif.join(a, b, wrong).is_err());
    assert!(whatif.join(a, nowhere, Law::resistance(1.0)).is_err());
    assert!(whatif.join(nowhere, b, Law::resistance(1.0)).is_err());
    let lamp =
        Law::Filament { rated_watt: 60.0, rated_volt: 120.0, cold_fraction: 0.08, exponent: 0.6 };
    let put = whatif.join(a, b, lamp).unwrap();
    let mut work = whatif.work();
    whatif.put(&[put], &mut work).unwrap();
    let told = whatif.read(0, &mut work).unwrap()[2].voltage_volt.unwrap();
    assert_eq!(work.solved_whole(), 1);
    let mut whole = netlist.clone();
    whole.add("lamp", a, b, Role::Load, lamp).unwrap();
    let expected = solve(&whole).unwrap().difference(a, b).unwrap();
    let miss = (told - expected).magnitude() / expected.magnitude().max(VOLTAGE_FLOOR_VOLT);
    assert!(miss < TOLERANCE, "{told:?} for {expected:?}");
    // What is open is nothing put there.
    let open = whatif.join(a, b, Law::Open).unwrap();
    whatif.put(&[open], &mut work).unwrap();
    let told = whatif.read(0, &mut work).unwrap()[2].voltage_volt.unwrap();
    let sound = solve(&netlist).unwrap().difference(a, b).unwrap();
    assert!((told - sound).magnitude() <= TOLERANCE * sound.magnitude().max(VOLTAGE_FLOOR_VOLT));
    assert_eq!(work.solved_whole(), 1);
}

/// Two legs wound on one core: what one carries the other feels.
fn transformer() -> (Netlist, [NodeId; 2]) {
    let mut netlist = Netlist::new(60.0);
    let nodes = ["leg 1", "leg 2"].map(|name| netlist.node(&name.into()));
    let windings = [120.0, -120.0].map(|volt| Law::Source {
        emf_volt: Phasor::new(volt, 0.0),
        impedance: Impedance::new(0.05, 0.1),
    });
    let ids: Vec<_> = (nodes.into_iter().zip(windings).enumerate())
        .map(|(at, (leg, law))| {
            let id = format!("winding {at}");
            netlist.add(id, leg, Netlist::EARTH, Role::Winding, law).unwrap()
        })
        .collect();
    netlist.couple(ids[0], ids[1], Impedance::new(0.01, 0.06)).unwrap();
    for (at, (leg, ohm)) in nodes.into_iter().zip([3.0, 40.0]).enumerate() {
        let id = format!("load {at}");
        netlist.add(id, leg, Netlist::EARTH, Role::Load, Law::resistance(ohm)).unwrap();
    }
    (netlist, nodes)
}

#[test]
fn windings_on_one_core_answer_to_another_load_voltage_or_impedance_as_a_whole_solve_does() {
    let (netlist, [one, two]) = transformer();
    let ports = vec![(one, Netlist::EARTH), (two, one)];
    let whatif = WhatIf::new(&netlist, &[], std::slice::from_ref(&ports)).unwrap();
    let element = |name: &str| netlist.find_element(name).unwrap();
    let source = |volt: f64, x: f64| Law::Source {
        emf_volt: Phasor::new(volt, 5.0),
        impedance: Impedance::new(0.05, x),
    };
    let mut work = whatif.work();
    // What is changed, and whether that takes a solve of the whole.
    for (name, law, whole) in [
        ("load 0", Law::resistance(1.0), 0),
        ("winding 0", source(100.0, 0.1), 0),
        ("winding 1", source(-90.0, 0.1), 0),
        ("winding 0", source(100.0, 0.3), 1),
        ("winding 1", source(-120.0, 0.3), 1),
        ("winding 1", Law::Open, 1),
    ] {
        let change = whatif.change(element(name), law);
        let mut then = netlist.clone();
        let made = then.set_law(element(name), law);
        let before = work.solved_whole();
        let put = change.and_then(|change| whatif.put(&[change], &mut work));
        if made.is_err() {
            assert!(put.is_err(), "{name}, {law:?}");
            continue;
        }
        put.unwrap();
        let seen = whatif.read(0, &mut work).unwrap().to_vec();
        assert_eq!(work.solved_whole() - before, whole, "{name}, {law:?}");
        let exact = PortSystem::new(&then, &ports).unwrap();
        for (at, seen) in seen.iter().enumerate().filter(|(at, _)| whole == 0 || *at == 0) {
            let expected = exact.open_circuit(at).unwrap();
            let found = seen.voltage_volt.unwrap();
            assert!(miss(found, expected) < TOLERANCE, "{name}, {law:?}: {found:?}, {expected:?}");
        }
    }
    assert!(work.answered() >= 5);
}

#[test]
fn the_current_of_an_element_follows_from_its_law_and_the_voltage_it_has() {
    let (netlist, _) = transformer();
    let whatif = WhatIf::new(&netlist, &[], &[]).unwrap();
    let by = |law: Law, volt: f64| whatif.current_by(&law, Phasor::new(volt, 0.0));
    // 120 V behind 2 ohms with 110 V at its terminals drives 5 A out of the first of them.
    let emf_volt = Phasor::new(120.0, 0.0);
    let source = Law::Source { emf_volt, impedance: Impedance::resistance(2.0) };
    let current = by(source, 110.0).unwrap();
    assert!((current - Phasor::new(-5.0, 0.0)).magnitude() < 1e-12, "{current:?}");
    assert_eq!(by(Law::Open, 110.0), Some(Phasor::ZERO));
    assert_eq!(by(Law::resistance(0.0), 110.0), None, "any current at all");
    let lamp = Law::ThresholdLamp { threshold_volt: 2.0, off_ohm: 1e9, series_ohm: 33e3 };
    assert_eq!(by(lamp, 110.0), None);
}
