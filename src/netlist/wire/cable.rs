//! Cables: a nominal π section each, split into several where something is wrong inside.

use std::cmp::Ordering;

use crate::circuit::connection::{wire_element, wire_end};
use crate::circuit::{Cable, CableEnd, CablePair, Circuit};
use crate::condition::{Fault, Gap};
use crate::netlist::{Law, Role};
use crate::quantity::{Address, Impedance};

use super::draft::{Draft, Edit, Placed};
use super::joints::gap_elements;
use super::landings::{cable_named, conductor_of};
use super::{WireProblem, impossible, stated_ohm};

/// One piece of a cable between two of its stations.
struct Piece {
    /// Its number from end a, from 1.
    number: usize,
    /// Its share of the cable's length.
    share: f64,
    /// The stations at its ends; `None` for the ends of the cable.
    stations: [Option<usize>; 2],
}

/// What is wrong at one station of a cable.
struct Trouble<'f> {
    at_fraction: f64,
    what: What<'f>,
}

enum What<'f> {
    Broken { conductor: &'f str, gap: Gap },
    Joint { conductor: &'f str, resistance_ohm: f64 },
    Contact { between: (&'f str, &'f str), resistance_ohm: f64 },
}

/// A place inside a cable where something is wrong.
struct Station<'f> {
    number: usize,
    at_fraction: f64,
    troubles: Vec<What<'f>>,
}

pub(super) fn apply(
    circuit: &Circuit,
    faults: &[Fault],
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    let mut names: Vec<&str> = faults.iter().filter_map(inside).map(|(cable, _)| cable).collect();
    names.sort_unstable();
    names.dedup();
    for name in names {
        let cable = cable_named(circuit, name)?;
        let of_cable = faults.iter().filter_map(inside).filter(|(cable, _)| *cable == name);
        let stations = stations(cable, of_cable.map(|(_, trouble)| trouble).collect())?;
        split(cable, &stations, draft)?;
    }
    Ok(())
}

/// Capacitance and leakage of a whole cable: half at each end. Values of zero farad make no
/// element.
pub(super) fn side_elements(cable: &Cable) -> Vec<Placed> {
    side_elements_between(cable, None, &|end, conductor| match conductor {
        "earth" => Address::earth(),
        _ => wire_end(&cable.id, end, conductor),
    })
}

fn side_elements_between(
    cable: &Cable,
    piece: Option<&Piece>,
    node: &dyn Fn(CableEnd, &str) -> Address,
) -> Vec<Placed> {
    let length_m = cable.length_m * piece.map_or(1.0, |piece| piece.share);
    let mark = piece.map_or(String::new(), |piece| format!("~{}", piece.number));
    let mut elements = Vec::new();
    let mut add = |word: &str, role: Role, pair: &CablePair, law: Law| {
        let (p, q) = (&pair.between.0, &pair.between.1);
        for end in [CableEnd::A, CableEnd::B] {
            let id = format!("{word}:{}.{p}-{q}{mark}.{}", cable.id, end.letter());
            elements.push(Placed { id, role, law, a: node(end, p), b: node(end, q) });
        }
    };
    for pair in &cable.capacitance_farad_per_m {
        let capacitance_farad = pair.value * length_m / 2.0;
        if capacitance_farad > 0.0 {
            add("cap", Role::Capacitance, pair, Law::Capacitor { capacitance_farad });
        }
    }
    for pair in &cable.insulation_ohm_m {
        add("leak", Role::Leakage, pair, Law::resistance(2.0 * pair.value / length_m));
    }
    elements
}

/// The cable of a fault inside a cable, and what is wrong.
fn inside(fault: &Fault) -> Option<(&str, Trouble<'_>)> {
    let (cable, at_fraction, what) = match fault {
        Fault::Broken { cable, conductor, at_fraction, gap } => {
            (cable, at_fraction, What::Broken { conductor, gap: *gap })
        }
        Fault::ResistanceInCable { cable, conductor, at_fraction, resistance_ohm } => {
            (cable, at_fraction, What::Joint { conductor, resistance_ohm: *resistance_ohm })
        }
        Fault::ContactInCable { cable, conductors, at_fraction, resistance_ohm } => {
            let between = (conductors.0.as_str(), conductors.1.as_str());
            (cable, at_fraction, What::Contact { between, resistance_ohm: *resistance_ohm })
        }
        _ => return None,
    };
    Some((cable, Trouble { at_fraction: *at_fraction, what }))
}

/// Troubles gathered by where they are, in order from end a.
fn stations<'f>(
    cable: &Cable,
    mut troubles: Vec<Trouble<'f>>,
) -> Result<Vec<Station<'f>>, WireProblem> {
    for trouble in &troubles {
        if !(trouble.at_fraction > 0.0 && trouble.at_fraction < 1.0) {
            let what = format!(
                "{} is not inside it; a fraction above 0 and below 1 is, and at its ends the \
                 joints are",
                trouble.at_fraction
            );
            return Err(impossible(&cable.id, what));
        }
        trouble.what.check(cable)?;
    }
    troubles.sort_by(|x, y| x.at_fraction.total_cmp(&y.at_fraction));
    let mut stations: Vec<Station<'_>> = Vec::new();
    for Trouble { at_fraction, what } in troubles {
        match stations.last_mut() {
            Some(station) if station.at_fraction.total_cmp(&at_fraction) == Ordering::Equal => {
                station.troubles.push(what);
            }
            _ => {
                let number = stations.len() + 1;
                stations.push(Station { number, at_fraction, troubles: vec![what] });
            }
        }
    }
    Ok(stations)
}

impl What<'_> {
    fn check(&self, cable: &Cable) -> Result<(), WireProblem> {
        match *self {
            What::Broken { conductor, .. } => conductor_of(cable, conductor),
            What::Joint { conductor, resistance_ohm } => {
                stated_ohm(&cable.id, resistance_ohm)?;
                conductor_of(cable, conductor)
            }
            What::Contact { between: (p, q), resistance_ohm } => {
                stated_ohm(&cable.id, resistance_ohm)?;
                if p == q {
                    return Err(impossible(&cable.id, format!("{p} touches itself everywhere")));
                }
                for conductor in [p, q].into_iter().filter(|conductor| *conductor != "earth") {
                    conductor_of(cable, conductor)?;
                }
                Ok(())
            }
        }
    }
}

impl Station<'_> {
    /// Whether a conductor has two ends here.
    fn parts(&self, conductor: &str) -> bool {
        self.troubles.iter().any(|trouble| match trouble {
            What::Broken { conductor: parted, .. } | What::Joint { conductor: parted, .. } => {
                *parted == conductor
            }
            What::Contact { .. } => false,
        })
    }

    /// The node of a conductor here, on the side of the given end of the cable.
    fn node(&self, cable: &Cable, conductor: &str, towards: CableEnd) -> Address {
        let side = match (self.parts(conductor), towards) {
            (false, _) => "",
            (true, CableEnd::A) => "l",
            (true, CableEnd::B) => "r",
        };
        Address::from(format!("{}.m{}{side}.{conductor}", cable.id, self.number))
    }
}

/// Replaces a cable's wires, capacitance and leakage by those of its pieces. Pieces share
/// every conductor that is whole, and follow the wires' laws and ends as they are by now.
fn split(
    cable: &Cable,
    stations: &[Station<'_>],
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    let wires: Vec<(String, Placed)> = cable
        .conductors
        .iter()
        .filter_map(|conductor| {
            let wire = draft.find(&wire_element(&cable.id, &conductor.name))?;
            Some((conductor.name.clone(), wire.clone()))
        })
        .collect();
    for element in side_elements(cable) {
        draft.apply(Edit::Remove { element: element.id });
    }
    for (_, wire) in &wires {
        draft.apply(Edit::Remove { element: wire.id.clone() });
    }
    for piece in pieces(stations) {
        let [left, right] = piece.stations.map(|at| at.and_then(|at| stations.get(at)));
        let node = |end: CableEnd, conductor: &str, whole: &Address| match (end, left, right) {
            _ if conductor == "earth" => Address::earth(),
            (CableEnd::A, Some(station), _) => station.node(cable, conductor, CableEnd::B),
            (CableEnd::B, _, Some(station)) => station.node(cable, conductor, CableEnd::A),
            _ => whole.clone(),
        };
        for (conductor, wire) in &wires {
            draft.apply(Edit::Put(Placed {
                id: piece_of(&wire.id, piece.number),
                role: Role::Wire,
                law: share_of(wire.law, piece.share),
                a: node(CableEnd::A, conductor, &wire.a),
                b: node(CableEnd::B, conductor, &wire.b),
            }));
        }
        let sides = side_elements_between(cable, Some(&piece), &|end, conductor| {
            node(end, conductor, &wire_end(&cable.id, end, conductor))
        });
        sides.into_iter().for_each(|element| draft.apply(Edit::Put(element)));
    }
    for station in stations {
        trouble_elements(cable, station, draft)?;
    }
    Ok(())
}

/// What the piece of a wire before the first trouble along it is called.
pub(crate) fn first_piece(wire: &str) -> String {
    piece_of(wire, 1)
}

fn piece_of(wire: &str, number: usize) -> String {
    format!("{wire}~{number}")
}

fn pieces(stations: &[Station<'_>]) -> Vec<Piece> {
    let mut pieces = Vec::with_capacity(stations.len() + 1);
    let mut from = (0.0, None);
    let ends = stations.iter().enumerate().map(|(at, station)| (station.at_fraction, Some(at)));
    for to in ends.chain([(1.0, None)]) {
        let number = pieces.len() + 1;
        pieces.push(Piece { number, share: to.0 - from.0, stations: [from.1, to.1] });
        from = to;
    }
    pieces
}

/// The law of a share of a wire. A wire that was given another law as a whole keeps it in
/// every piece.
fn share_of(law: Law, share: f64) -> Law {
    match law {
        Law::Impedance(whole) => Law::Impedance(Impedance::new(
            whole.resistance_ohm * share,
            whole.reactance_ohm * share,
        )),
        other => other,
    }
}

/// The bad joints, breaks and contacts at a station.
fn trouble_elements(
    cable: &Cable,
    station: &Station<'_>,
    draft: &mut Draft<'_>,
) -> Result<(), WireProblem> {
    for trouble in &station.troubles {
        match *trouble {
            What::Broken { conductor, gap } => {
                let parted = parted(cable, station, conductor);
                for mut element in gap_elements(&parted, gap)? {
                    element.id = unused(draft, element.id);
                    draft.apply(Edit::Put(element));
                }
            }
            What::Joint { conductor, resistance_ohm } => {
                let broken = station.troubles.iter().any(
                    |other| matches!(other, What::Broken { conductor: c, .. } if *c == conductor),
                );
                let law = if broken { Law::Open } else { Law::resistance(resistance_ohm) };
                let mut joint = parted(cable, station, conductor);
                joint.id = unused(draft, format!("midjoint:{}.{conductor}", cable.id));
                draft.apply(Edit::Put(Placed { role: Role::Joint, law, ..joint }));
            }
            What::Contact { between: (p, q), resistance_ohm } => {
                let at = |conductor: &str| match conductor {
                    "earth" => Address::earth(),
                    _ => station.node(cable, conductor, CableEnd::A),
                };
                draft.apply(Edit::Put(Placed {
                    id: unused(draft, format!("midcontact:{}.{p}-{q}", cable.id)),
                    role: Role::Bridge,
                    law: Law::resistance(resistance_ohm),
                    a: at(p),
                    b: at(q),
                }));
            }
        }
    }
    Ok(())
}

/// The two ends of a conductor that is parted at a station, under the name of its wire.
fn parted(cable: &Cable, station: &Station<'_>, conductor: &str) -> Placed {
    Placed {
        id: wire_element(&cable.id, conductor),
        role: Role::Gap,
        law: Law::Open,
        a: station.node(cable, conductor, CableEnd::A),
        b: station.node(cable, conductor, CableEnd::B),
    }
}

/// A name, with `~2`, `~3`, ... after it if the same was wrong nearer to end a.
fn unused(draft: &Draft<'_>, id: String) -> String {
    if draft.find(&id).is_none() {
        return id;
    }
    let mut number = 2;
    loop {
        let next = format!("{id}~{number}");
        if draft.find(&next).is_none() {
            return next;
        }
        number += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::Circuit;
    use crate::condition::Condition;
    use crate::netlist::{Netlist, wire};

    /// Every fault is put half way along the first cable.
    fn half_way(faults: impl Fn(&str) -> Vec<Fault>) -> (Netlist, String) {
        let text = include_str!("../../../circuits/pottery-studio.ron");
        let circuit: Circuit = crate::circuit::file::read(text).unwrap().circuit;
        let cable = circuit.parts().cables[0].id.clone();
        let faults = faults(&cable);
        (wire(&circuit, &Condition { faults, ..Condition::default() }).unwrap(), cable)
    }

    #[test]
    fn a_nail_to_earth_half_way_meets_the_wire_half_way_and_earth() {
        let resistance_ohm = 40.0;
        let (netlist, cable) = half_way(|cable| {
            let conductors = ("hot".to_owned(), "earth".to_owned());
            let cable = cable.to_owned();
            vec![Fault::ContactInCable { cable, conductors, at_fraction: 0.5, resistance_ohm }]
        });
        let contact = netlist.find_element(&format!("midcontact:{cable}.hot-earth")).unwrap();
        let (a, b) = netlist.ends(contact);
        assert_eq!(b, Netlist::EARTH);
        assert_eq!(netlist.element(contact).law, Law::resistance(resistance_ohm));
        // Both halves of the wire end there.
        let at_it = |id: &crate::netlist::ElementId| {
            let (p, q) = netlist.ends(*id);
            netlist.element(*id).role == Role::Wire && (p == a || q == a)
        };
        assert_eq!(netlist.elements().filter(at_it).count(), 2);
    }

    #[test]
    fn of_the_same_trouble_said_over_and_over_each_has_a_name_of_its_own() {
        let (netlist, cable) = half_way(|cable| {
            let at = |nth: u32| Fault::ContactInCable {
                cable: cable.to_owned(),
                conductors: ("hot".to_owned(), "neutral".to_owned()),
                at_fraction: 0.1 + 0.2 * f64::from(nth),
                resistance_ohm: 40.0,
            };
            (0..4).map(at).collect()
        });
        for number in ["", "~2", "~3", "~4"] {
            let name = format!("midcontact:{cable}.hot-neutral{number}");
            assert!(netlist.find_element(&name).is_some(), "{name}");
        }
    }
}
