//! What there is to draw: boxes, the cables between them, and what is joined inside a box.

use std::collections::{HashMap, HashSet, VecDeque};

use crate::circuit::{
    Cable, CableEnd, Circuit, Load, Outlet, Part, Place, PlaceKind, ServiceConductor,
};
use crate::quantity::Address;

/// Everything a picture shows, without potentials and without places on paper.
#[derive(Debug)]
pub(super) struct Survey<'c> {
    pub(super) spots: Vec<Spot<'c>>,
    pub(super) runs: Vec<Run<'c>>,
    inside: HashMap<&'c Address, Vec<Joined<'c>>>,
}

/// A box, a panel, or what else cables end in.
#[derive(Debug)]
pub(super) struct Spot<'c> {
    pub(super) name: String,
    pub(super) kind: PlaceKind,
    pub(super) outlets: Vec<&'c Outlet>,
    pub(super) devices: Vec<&'c str>,
    pub(super) loads: Vec<&'c Load>,
    /// Service conductors that end here.
    pub(super) service: Vec<&'c ServiceConductor>,
}

/// A cable.
#[derive(Debug)]
pub(super) struct Run<'c> {
    pub(super) cable: &'c Cable,
    /// The spots at its ends a and b; none where every wire is capped.
    pub(super) ends: [Option<usize>; 2],
    /// Its conductors in the order of the lanes.
    pub(super) strands: Vec<Strand<'c>>,
}

/// A conductor of a cable.
#[derive(Debug)]
pub(super) struct Strand<'c> {
    pub(super) name: &'c str,
    /// What it lands on at ends a and b, as described.
    pub(super) landings: [Option<&'c Address>; 2],
}

/// A metal path inside a box.
#[derive(Clone, Copy, Debug)]
struct Joined<'c> {
    to: &'c Address,
    /// Position among the circuit's inner connections.
    connection: usize,
}

impl<'c> Survey<'c> {
    pub(super) fn of(circuit: &'c Circuit, inner: &'c [Inner<'c>]) -> Self {
        let mut owners = Owners::of(circuit);
        let parts = circuit.parts();
        let runs: Vec<Run> = parts
            .cables
            .iter()
            .map(|cable| Run {
                cable,
                ends: [CableEnd::A, CableEnd::B].map(|end| owners.of_cable_end(cable, end)),
                strands: strands(cable),
            })
            .collect();
        let mut survey = Self { spots: Vec::new(), runs, inside: inside(inner) };
        let owner_of_load: Vec<Option<usize>> =
            parts.loads.iter().map(|load| survey.owner_of_load(load, &mut owners)).collect();
        let owner_of_service: Vec<Option<usize>> =
            parts.supply.conductors.iter().map(|wire| owners.owner(&wire.to)).collect();
        survey.spots = owners.spots();
        for (load, owner) in parts.loads.iter().zip(owner_of_load) {
            if let Some(spot) = owner.and_then(|owner| survey.spots.get_mut(owner)) {
                spot.loads.push(load);
            }
        }
        for (wire, owner) in parts.supply.conductors.iter().zip(owner_of_service) {
            if let Some(spot) = owner.and_then(|owner| survey.spots.get_mut(owner)) {
                spot.service.push(wire);
            }
        }
        survey
    }

    /// The shortest way inside a box from one terminal to another over the inner connections
    /// that may be taken: their positions. `None` without one.
    pub(super) fn path(
        &self,
        from: &Address,
        to: &Address,
        may_take: impl Fn(usize) -> bool,
    ) -> Option<Vec<usize>> {
        let mut came: HashMap<&Address, Option<(&Address, usize)>> = HashMap::new();
        let mut queue = VecDeque::from([from]);
        came.insert(from, None);
        while let Some(here) = queue.pop_front() {
            if here == to {
                let mut path = Vec::new();
                let mut step = came.get(here).copied().flatten();
                while let Some((previous, connection)) = step {
                    path.push(connection);
                    step = came.get(previous).copied().flatten();
                }
                path.reverse();
                return Some(path);
            }
            for joined in self.inside.get(here).into_iter().flatten() {
                if may_take(joined.connection) && !came.contains_key(joined.to) {
                    came.insert(joined.to, Some((here, joined.connection)));
                    queue.push_back(joined.to);
                }
            }
        }
        None
    }

    /// The spot a load is plugged or wired into: the nearest one from any of its ends.
    fn owner_of_load(&self, load: &'c Load, owners: &mut Owners<'c>) -> Option<usize> {
        let mut seen: HashSet<&Address> = HashSet::new();
        let mut queue = VecDeque::from([&load.between.0, &load.between.1]);
        while let Some(here) = queue.pop_front() {
            if !seen.insert(here) {
                continue;
            }
            if let Some(owner) = owners.known(here) {
                return Some(owner);
            }
            queue.extend(self.inside.get(here).into_iter().flatten().map(|joined| joined.to));
        }
        owners.owner(&load.between.0)
    }
}

/// A metal path inside a box: a link, a tab, a contact, a breaker.
#[derive(Clone, Debug)]
pub(super) struct Inner<'c> {
    pub(super) element: String,
    pub(super) a: Address,
    pub(super) b: Address,
    pub(super) part: Part<'c>,
}

/// Every metal path that is not the length of a cable, a load or a part of the supply.
pub(super) fn inner_connections(circuit: &Circuit) -> Vec<Inner<'_>> {
    let connections = circuit.connections().filter(|connection| {
        let part = connection.part;
        matches!(part, Part::Link(_) | Part::Tab(..) | Part::Switch(..) | Part::Breaker(_))
    });
    connections.map(|c| Inner { element: c.element, a: c.a, b: c.b, part: c.part }).collect()
}

fn inside<'c>(inner: &'c [Inner<'c>]) -> HashMap<&'c Address, Vec<Joined<'c>>> {
    let mut inside: HashMap<&Address, Vec<Joined>> = HashMap::new();
    for (connection, path) in inner.iter().enumerate() {
        inside.entry(&path.a).or_default().push(Joined { to: &path.b, connection });
        inside.entry(&path.b).or_default().push(Joined { to: &path.a, connection });
    }
    inside
}

fn strands(cable: &Cable) -> Vec<Strand<'_>> {
    let [a, b] = &cable.ends;
    let mut strands: Vec<Strand> = cable
        .conductors
        .iter()
        .map(|conductor| Strand {
            name: &conductor.name,
            landings: [a, b].map(|end| {
                end.iter().find(|landing| landing.conductor == conductor.name).map(|l| &l.to)
            }),
        })
        .collect();
    strands.sort_by(|one, other| lane_order(one.name).cmp(&lane_order(other.name)));
    strands
}

/// The order of conductors from top to bottom: what is live when all is well, what is switched,
/// neutrals, and the ground lowest.
pub(super) fn lane_order(name: &str) -> (u8, &str) {
    let stem = name.trim_end_matches(|c: char| c.is_ascii_digit());
    let rank = match stem {
        "L" => 0,
        "hot" => 1,
        "switched" => 2,
        "traveller" => 3,
        "neutral" => 5,
        "ground" => 6,
        _ => 4,
    };
    (rank, name)
}

/// Which spot each terminal belongs to.
struct Owners<'c> {
    spots: Vec<Spot<'c>>,
    by_first_word: HashMap<String, usize>,
    by_address: HashMap<&'c Address, usize>,
    by_cable_end: HashMap<(&'c str, CableEnd), usize>,
}

impl<'c> Owners<'c> {
    fn of(circuit: &'c Circuit) -> Self {
        let mut owners = Self {
            spots: Vec::new(),
            by_first_word: HashMap::new(),
            by_address: HashMap::new(),
            by_cable_end: HashMap::new(),
        };
        let parts = circuit.parts();
        for place in parts.places.iter().filter(|place| !is_bare(place)) {
            owners.add_place(place);
        }
        for branch in &parts.branch_circuits {
            if let Some(panel) = owners.known(&branch.bus) {
                owners.by_first_word.entry(branch.id.clone()).or_insert(panel);
            }
        }
        owners
    }

    fn add_place(&mut self, place: &'c Place) {
        let spot = self.spots.len();
        let words = place.devices.iter().map(|device| first_word(device));
        for word in std::iter::once(place.id.as_str()).chain(words) {
            self.by_first_word.entry(word.to_owned()).or_insert(spot);
        }
        for (_, slot) in place.outlets.iter().flat_map(|outlet| &outlet.slots) {
            self.by_address.entry(slot).or_insert(spot);
        }
        for (cables, end) in [(&place.load_cables, CableEnd::A), (&place.line_cables, CableEnd::B)]
        {
            for cable in cables {
                self.by_cable_end.entry((cable, end)).or_insert(spot);
            }
        }
        self.spots.push(Spot {
            name: place.id.clone(),
            kind: place.kind,
            outlets: place.outlets.iter().collect(),
            devices: place.devices.iter().map(String::as_str).collect(),
            loads: Vec::new(),
            service: Vec::new(),
        });
    }

    /// The spot of a terminal, if a place of the circuit holds it.
    fn known(&self, address: &Address) -> Option<usize> {
        let exactly = self.by_address.get(address);
        exactly.or_else(|| self.by_first_word.get(first_word(address.as_str()))).copied()
    }

    /// The spot of a terminal; one is made up for what lies in no place.
    fn owner(&mut self, address: &Address) -> Option<usize> {
        if *address == Address::earth() {
            return None;
        }
        self.known(address).or_else(|| {
            let name = first_word(address.as_str()).to_owned();
            self.by_first_word.insert(name.clone(), self.spots.len());
            self.spots.push(Spot {
                name,
                kind: PlaceKind::Box,
                outlets: Vec::new(),
                devices: Vec::new(),
                loads: Vec::new(),
                service: Vec::new(),
            });
            Some(self.spots.len() - 1)
        })
    }

    fn of_cable_end(&mut self, cable: &'c Cable, end: CableEnd) -> Option<usize> {
        if let Some(&spot) = self.by_cable_end.get(&(cable.id.as_str(), end)) {
            return Some(spot);
        }
        let landings = match end {
            CableEnd::A => &cable.ends[0],
            CableEnd::B => &cable.ends[1],
        };
        let known = landings.iter().find_map(|landing| self.known(&landing.to));
        known.or_else(|| landings.first().and_then(|landing| self.owner(&landing.to)))
    }

    fn spots(self) -> Vec<Spot<'c>> {
        self.spots
    }
}

/// A transformer without cables or contacts is told in the panel it feeds.
fn is_bare(place: &Place) -> bool {
    place.kind == PlaceKind::Supply
        && place.line_cables.is_empty()
        && place.load_cables.is_empty()
        && place.outlets.is_empty()
}

fn first_word(address: &str) -> &str {
    address.split('.').next().unwrap_or(address)
}
