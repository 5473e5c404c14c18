//! What stands in each box: lanes with their potentials, further cables, devices and loads.

use std::collections::{HashMap, HashSet};

use crate::circuit::connection::{load_element, winding_element};
use crate::circuit::{
    BranchCircuit, CableEnd, Circuit, DeviceKind, Load, Part, PlaceKind, Vocabulary,
};
use crate::condition::{Condition, LoadState};
use crate::quantity::Address;
use crate::report::{figure, vocabulary};

use super::arrange::{Arrangement, Flank, Port};
use super::mark::{BridgeMark, Mark, Marks};
use super::reading::{Level, Meter, Reading};
use super::survey::{Inner, Spot, Survey, lane_order};

/// What stands in a box.
#[derive(Debug)]
pub(super) struct Content {
    pub(super) title: String,
    pub(super) is_panel: bool,
    /// No cable arrives: its bars are its own.
    pub(super) is_root: bool,
    /// A hazard is here.
    pub(super) is_hazardous: bool,
    /// Breaker of the main way on, configurations of receptacles.
    pub(super) subtitle: Vec<String>,
    /// Names of the columns of slots, if there are several.
    pub(super) outlet_names: Vec<String>,
    pub(super) lanes: Vec<Lane>,
    pub(super) bridges: Vec<InnerBridge>,
    pub(super) switched: Vec<Switched>,
    /// Cables besides those on the lanes.
    pub(super) blocks: Vec<Block>,
    pub(super) notes: Vec<Note>,
}

/// One conductor through a box.
#[derive(Debug)]
pub(super) struct Lane {
    pub(super) name: String,
    /// What the wire from the left lands on, and the wire to the right.
    pub(super) ends: [Option<End>; 2],
    /// What is between the two ends.
    pub(super) between: Between,
    /// Slots hanging on it, a column each.
    pub(super) slots: Vec<Option<Slot>>,
}

/// Where a wire of a lane lands.
#[derive(Clone, Debug)]
pub(super) struct End {
    pub(super) address: Address,
    /// What the lane calls it.
    pub(super) name: String,
    pub(super) reading: Reading,
}

/// What lies between the two ends of a lane.
#[derive(Debug)]
pub(super) enum Between {
    /// No metal inside the box joins them.
    Nothing,
    /// One piece of metal, with what is wrong on it.
    Metal(Vec<Mark>),
    /// A contact of a breaker, a switch or a protective device.
    Contact { closed: bool, marks: Vec<Mark> },
}

/// A switch between a lane and another that begins in the box.
#[derive(Debug)]
pub(super) struct Switched {
    /// The lane that comes from the left.
    pub(super) from: usize,
    /// The lane that goes on to the right.
    pub(super) to: usize,
    pub(super) closed: bool,
    pub(super) marks: Vec<Mark>,
}

/// A contact that a plug goes into.
#[derive(Debug)]
pub(super) struct Slot {
    pub(super) address: Address,
    pub(super) name: String,
    pub(super) reading: Reading,
    /// What is wrong between it and the lane.
    pub(super) marks: Vec<Mark>,
}

/// A bridge between two lanes or slots of one box: a lane each, and the slots' column if it is
/// one.
#[derive(Debug)]
pub(super) struct InnerBridge {
    pub(super) mark: Mark,
    pub(super) ends: [(usize, Option<usize>); 2],
}

/// A cable that has lanes of its own.
#[derive(Debug)]
pub(super) struct Block {
    pub(super) port: Port,
    pub(super) header: String,
    pub(super) strands: Vec<BlockStrand>,
}

/// A conductor of such a cable.
#[derive(Debug)]
pub(super) struct BlockStrand {
    pub(super) name: String,
    pub(super) reading: Option<Reading>,
    pub(super) contact: Option<(bool, Vec<Mark>)>,
}

/// What the sign before a note shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Symbol {
    LoadOn,
    LoadOff,
    Unplugged,
    Closed,
    Open,
    Line(Level),
    Earth,
    None,
}

/// A line of text in a box, with its sign and its marks.
#[derive(Debug)]
pub(super) struct Note {
    pub(super) symbol: Symbol,
    pub(super) marks: Vec<Mark>,
    pub(super) text: String,
}

/// What the contents of the boxes are made from.
pub(super) struct Source<'s> {
    pub(super) circuit: &'s Circuit,
    pub(super) condition: &'s Condition,
    pub(super) meter: &'s Meter<'s>,
    pub(super) marks: &'s Marks,
    pub(super) survey: &'s Survey<'s>,
    pub(super) inner: &'s [Inner<'s>],
    /// Service conductors that nothing is said of while they are sound.
    pub(super) left_out: HashSet<String>,
    pub(super) arrangement: &'s Arrangement,
    /// The breaker whose pole ends at an address.
    pub(super) breakers: HashMap<Address, &'s BranchCircuit>,
    /// The bar that a circuit's own landing leads to, by the landing's address.
    pub(super) bars: HashMap<Address, (String, Address)>,
    /// First words of addresses with a hazard.
    pub(super) hazardous: Vec<String>,
}

impl Source<'_> {
    pub(super) fn contents(&self) -> Vec<Content> {
        let mut contents: Vec<Content> =
            (0..self.survey.spots.len()).map(|spot| self.content(spot)).collect();
        for bridge in &self.marks.bridges {
            place_bridge(bridge, &mut contents);
        }
        self.place_the_rest(&mut contents);
        contents
    }

    fn content(&self, number: usize) -> Content {
        let spot = &self.survey.spots[number];
        let ports = &self.arrangement.ports[number];
        let lanes = self.lanes(spot, ports);
        let (mains, others): (Vec<Port>, Vec<Port>) = ports.iter().partition(|port| port.main);
        let mut subtitle: Vec<String> = mains
            .iter()
            .filter_map(|port| self.breaker_of(port))
            .map(|branch| self.breaker_words(branch))
            .collect();
        if subtitle.is_empty() {
            subtitle = configurations(spot);
        }
        let several = spot.outlets.len() > 1;
        let names = spot.outlets.iter().filter(|_| several).map(|outlet| {
            let address = outlet.address.as_str();
            address.strip_prefix(&format!("{}.", spot.name)).unwrap_or(address).to_owned()
        });
        Content {
            title: spot.name.clone(),
            is_panel: spot.kind != PlaceKind::Box,
            is_root: !ports.iter().any(|port| port.main && port.flank == Flank::Left),
            is_hazardous: self.is_hazardous(spot),
            subtitle,
            outlet_names: names.collect(),
            switched: self.switched(&lanes),
            lanes,
            bridges: Vec::new(),
            blocks: others.iter().map(|port| self.block(port)).collect(),
            notes: self.notes(spot, number),
        }
    }

    fn is_hazardous(&self, spot: &Spot<'_>) -> bool {
        let devices = spot.devices.iter().map(|device| first_word(device));
        let loads = spot.loads.iter().map(|load| load.id.as_str());
        let mut names = std::iter::once(spot.name.as_str()).chain(devices).chain(loads);
        names.any(|name| self.hazardous.iter().any(|hazardous| hazardous == name))
    }

    fn lanes(&self, spot: &Spot<'_>, ports: &[Port]) -> Vec<Lane> {
        let mut lanes: Vec<Lane> = Vec::new();
        for port in ports.iter().filter(|port| port.main) {
            let side = usize::from(port.flank == Flank::Right);
            for strand in &self.survey.runs[port.run].strands {
                let landing = strand.landings[end_number(port.end)];
                let lane = lane_named(&mut lanes, strand.name);
                lane.ends[side] = landing.map(|address| self.end(strand.name, address));
            }
        }
        for lane in &mut lanes {
            self.join(lane);
        }
        for (column, outlet) in spot.outlets.iter().enumerate() {
            for (name, address) in &outlet.slots {
                self.hang(&mut lanes, column, name, address);
            }
        }
        for lane in &mut lanes {
            lane.slots.resize_with(spot.outlets.len(), || None);
        }
        lanes.sort_by(|one, other| lane_order(&one.name).cmp(&lane_order(&other.name)));
        lanes
    }

    fn end(&self, name: &str, address: &Address) -> End {
        let reading = self.meter.read(address);
        End { address: address.clone(), name: self.word(name), reading }
    }

    /// Finds what joins the two ends of a lane; before a breaker, puts its bus on the left.
    fn join(&self, lane: &mut Lane) {
        let right = lane.ends[1].as_ref().map(|end| end.address.clone());
        if let (None, Some(right)) = (&lane.ends[0], &right) {
            if let Some(branch) = self.breakers.get(right) {
                let bus_name = last_word(branch.bus.as_str()).to_owned();
                let end = End { name: bus_name, ..self.end("", &branch.bus) };
                lane.ends[0] = Some(end);
                let element = format!("breaker:{}", branch.id);
                lane.between = Between::Contact {
                    closed: !self.meter.is_open(&element),
                    marks: self.marks.on([&element]),
                };
            } else if let Some((element, bar)) = self.bars.get(right) {
                lane.ends[0] = Some(self.end(&lane.name, bar));
                lane.between = Between::Metal(self.marks.on([element]));
            }
            return;
        }
        let [Some(left), Some(right)] = &lane.ends else { return };
        if let Some(path) = self.path(&left.address, &right.address) {
            lane.between = self.between(&path);
        }
    }

    /// The way inside a box, through closed contacts if it can be.
    fn path(&self, from: &Address, to: &Address) -> Option<Vec<usize>> {
        let closed =
            |at: usize| self.inner.get(at).is_none_or(|inner| !self.is_open_contact(inner));
        self.survey.path(from, to, closed).or_else(|| self.survey.path(from, to, |_| true))
    }

    /// A contact or tab that is open; an open joint is still the way.
    fn is_open_contact(&self, inner: &Inner<'_>) -> bool {
        !matches!(inner.part, Part::Link(_)) && self.meter.is_open(&inner.element)
    }

    /// Switches that lead from a lane to another that begins in the box: from
    /// each lane through closed contacts if it can be.
    fn switched(&self, lanes: &[Lane]) -> Vec<Switched> {
        let mut found: Vec<(bool, Switched)> = Vec::new();
        for (from, one) in lanes.iter().enumerate() {
            let Some(left) = &one.ends[0] else { continue };
            for (to, other) in lanes.iter().enumerate().filter(|(to, _)| *to != from) {
                let [None, Some(right)] = &other.ends else { continue };
                let path = self.path(&left.address, &right.address);
                if let Some(Between::Contact { closed, marks }) = path.map(|p| self.between(&p)) {
                    found.push((!closed, Switched { from, to, closed, marks }));
                }
            }
        }
        found.sort_by_key(|(is_open, _)| *is_open);
        let mut kept: Vec<Switched> = Vec::new();
        for (_, switched) in found {
            if kept.iter().all(|other| other.from != switched.from && other.to != switched.to) {
                kept.push(switched);
            }
        }
        kept
    }

    fn between(&self, path: &[usize]) -> Between {
        let links: Vec<&Inner> = path.iter().filter_map(|&at| self.inner.get(at)).collect();
        let marks = self.marks.on(links.iter().map(|link| &link.element));
        let contacts =
            || links.iter().filter(|link| matches!(link.part, Part::Switch(..) | Part::Breaker(_)));
        if contacts().next().is_none() {
            return Between::Metal(marks);
        }
        let closed = contacts().all(|contact| !self.meter.is_open(&contact.element));
        Between::Contact { closed, marks }
    }

    /// Hangs a slot on the lane it is joined to.
    fn hang(&self, lanes: &mut Vec<Lane>, column: usize, name: &str, address: &Address) {
        let ways = lanes.iter().enumerate().filter_map(|(at, lane)| {
            let ends = lane.ends.iter().rev().flatten();
            let paths = ends.filter_map(|end| self.path(&end.address, address));
            Some((at, paths.min_by_key(Vec::len)?))
        });
        // Through as few contacts as can be, and of those the lane of the slot's own name.
        let found = ways.min_by_key(|(at, path)| {
            let links = path.iter().filter_map(|&at| self.inner.get(at));
            let contacts = links.filter(|link| !matches!(link.part, Part::Link(_))).count();
            (contacts, lanes[*at].name != name, path.len())
        });
        let (lane, path) = match found {
            Some((at, path)) => (&mut lanes[at], path),
            None => (lane_named(lanes, name), Vec::new()),
        };
        if lane.slots.len() <= column {
            lane.slots.resize_with(column + 1, || None);
        }
        let links = path.iter().filter_map(|&at| self.inner.get(at)).map(|link| &link.element);
        lane.slots[column] = Some(Slot {
            address: address.clone(),
            name: self.word(name),
            reading: self.meter.read(address),
            marks: self.marks.on(links),
        });
    }

    fn block(&self, port: &Port) -> Block {
        let run = &self.survey.runs[port.run];
        let end = end_number(port.end);
        let header = match (self.breaker_of(port), run.ends[1 - end]) {
            (Some(branch), _) => self.breaker_words(branch),
            (None, Some(far)) if port.end == CableEnd::A => {
                format!("to {}", self.survey.spots[far].name)
            }
            (None, Some(far)) => format!("from {}", self.survey.spots[far].name),
            (None, None) => "capped".to_owned(),
        };
        let strands = run.strands.iter().map(|strand| BlockStrand {
            name: self.word(strand.name),
            reading: strand.landings[end].map(|address| self.meter.read(address)),
            contact: strand.landings[end].and_then(|address| {
                let element = format!("breaker:{}", self.breakers.get(address)?.id);
                Some((!self.meter.is_open(&element), self.marks.on([&element])))
            }),
        });
        Block { port: *port, header, strands: strands.collect() }
    }

    fn breaker_of(&self, port: &Port) -> Option<&BranchCircuit> {
        let strands = &self.survey.runs[port.run].strands;
        strands
            .iter()
            .find_map(|strand| self.breakers.get(strand.landings[end_number(port.end)]?).copied())
    }

    fn breaker_words(&self, branch: &BranchCircuit) -> String {
        let rating = branch.breaker.rating_ampere.map(|ampere| format!(" {ampere}\u{a0}A"));
        let open = self.meter.is_open(&format!("breaker:{}", branch.id));
        let rating = rating.unwrap_or_default();
        format!("{}{rating}, {}", branch.id, if open { "OFF" } else { "on" })
    }

    fn notes(&self, spot: &Spot<'_>, number: usize) -> Vec<Note> {
        let mut notes: Vec<Note> = spot.loads.iter().map(|load| self.load_note(load)).collect();
        notes.extend(spot.devices.iter().filter_map(|device| self.device_note(device)));
        notes.extend(self.supply_notes(spot, number));
        notes
    }

    fn load_note(&self, load: &Load) -> Note {
        let state = self.condition.loads.get(&load.id).copied();
        let (symbol, word) = match state {
            Some(LoadState::Unplugged) => (Symbol::Unplugged, "unplugged"),
            Some(LoadState::Stalled) => (Symbol::LoadOn, "STALLED"),
            Some(LoadState::On) => (Symbol::LoadOn, "ON"),
            Some(LoadState::Off) => (Symbol::LoadOff, "off"),
            None if !load.plugged_in && !load.plug_links.is_empty() => {
                (Symbol::Unplugged, "unplugged")
            }
            None if load.on => (Symbol::LoadOn, "ON"),
            None => (Symbol::LoadOff, "off"),
        };
        let element = load_element(&load.id);
        let figures = self.meter.element(&element).filter(|_| symbol == Symbol::LoadOn).map(
            |(voltage, current, watt)| {
                let volts = figure::volts(voltage.magnitude());
                let amperes = figure::amperes(current.magnitude());
                format!(", {volts}\u{a0}V, {amperes}\u{a0}A, {}\u{a0}W", figure::watts(watt))
            },
        );
        let links = load.plug_links.iter().map(|link| format!("link:{link}"));
        let screws = self.inner.iter().filter(|inner| {
            [&inner.a, &inner.b].iter().any(|end| first_word(end.as_str()) == load.id)
        });
        let screws = screws.map(|inner| inner.element.clone());
        let elements: Vec<String> = links.chain(screws).chain([element]).collect();
        let text = format!("{} {word}{}", load.id, figures.unwrap_or_default());
        Note { symbol, marks: self.marks.on(&elements), text }
    }

    fn device_note(&self, device: &str) -> Option<Note> {
        let device = self.circuit.device(device)?;
        let of_device = self.inner.iter().filter(|inner| match inner.part {
            Part::Switch(of, _) | Part::Tab(of, _) => of.id == device.id,
            _ => false,
        });
        let inner: Vec<&Inner> = of_device.collect();
        let open = |inner: &&&Inner| self.meter.is_open(&inner.element);
        let closed = inner.iter().filter(|inner| !self.meter.is_open(&inner.element)).count();
        let id = &device.id;
        let (symbol, text) = match &device.kind {
            DeviceKind::Duplex { .. } => {
                let broken: Vec<&str> = inner
                    .iter()
                    .filter(open)
                    .map(|inner| last_word(inner.element.as_str()))
                    .collect();
                let marked = inner.iter().any(|inner| !self.marks.on([&inner.element]).is_empty());
                match (broken.is_empty(), marked) {
                    (true, false) => return None,
                    (true, true) => (Symbol::Closed, format!("{id}: tab in place")),
                    _ => (Symbol::Open, format!("{id}: {} tab broken out", broken.join(" and "))),
                }
            }
            DeviceKind::Switch { .. } => match closed == inner.len() {
                true => (Symbol::Closed, format!("switch {id} closed")),
                false => (Symbol::Open, format!("switch {id} OPEN")),
            },
            DeviceKind::Protective { .. } => match closed == inner.len() {
                true => (Symbol::Closed, format!("{id} set")),
                false => (Symbol::Open, format!("{id} TRIPPED")),
            },
            DeviceKind::ThreeWay { .. } | DeviceKind::FourWay { .. } => {
                (Symbol::Closed, format!("switch {id}: {}", ways(&inner, self.meter)))
            }
            _ => return None,
        };
        let elements: Vec<String> = inner.iter().map(|inner| inner.element.clone()).collect();
        Some(Note { symbol, marks: self.marks.on(&elements), text })
    }

    /// Service, bonds and electrodes that end in a box; those that end in none go to the first.
    fn supply_notes(&self, spot: &Spot<'_>, number: usize) -> Vec<Note> {
        let supply = &self.circuit.parts().supply;
        let here = |address: &Address| {
            let owner = self.spot_of(address);
            owner == Some(number) || (owner.is_none() && self.is_entrance(number))
        };
        let mut notes = Vec::new();
        let amperes = |element: &str| {
            self.meter
                .flow(element, true)
                .map(|flow| format!(", {}", flow.value))
                .unwrap_or_default()
        };
        for wire in &spot.service {
            let element = format!("service:{}", wire.id);
            if self.left_out.contains(&wire.id) && self.marks.on([&element]).is_empty() {
                continue;
            }
            let reading = self.meter.read(&wire.to);
            notes.push(Note {
                symbol: Symbol::Line(reading.level),
                marks: self.marks.on([&element]),
                text: format!("service {} {}{}", wire.id, reading.in_words(), amperes(&element)),
            });
        }
        for bond in supply.bonds.iter().filter(|bond| here(&bond.between.0)) {
            let element = format!("bond:{}", bond.id);
            let state = if self.meter.is_open(&element) { " OPEN" } else { "" };
            notes.push(Note {
                symbol: Symbol::None,
                marks: self.marks.on([&element]),
                text: format!("bond {}{state}{}", bond.id, amperes(&element)),
            });
        }
        for electrode in supply.electrodes.iter().filter(|electrode| here(&electrode.node)) {
            let element = format!("electrode:{}", electrode.id);
            let ohms = figure::ohms(electrode.resistance_ohm);
            let open = self.meter.is_open(&element);
            let state = if open { "OPEN".to_owned() } else { ohms };
            let word = vocabulary::term(self.vocabulary(), vocabulary::Term::Ground);
            notes.push(Note {
                symbol: Symbol::Earth,
                marks: self.marks.on([&element]),
                text: format!("{word} rod {}, {state}{}", electrode.id, amperes(&element)),
            });
        }
        for winding in supply.windings.iter().filter(|winding| here(&winding.line)) {
            let marks = self.marks.on([&winding_element(&winding.id)]);
            if !marks.is_empty() {
                let text = format!("supply {} not at its nominal voltage", winding.id);
                notes.push(Note { symbol: Symbol::None, marks, text });
            }
        }
        notes
    }

    /// The first panel, where what belongs to no box is told.
    fn is_entrance(&self, number: usize) -> bool {
        let spots = &self.survey.spots;
        let first = spots.iter().position(|spot| !spot.service.is_empty());
        first.or_else(|| spots.iter().position(|spot| spot.kind == PlaceKind::Panel)).unwrap_or(0)
            == number
    }

    fn spot_of(&self, address: &Address) -> Option<usize> {
        let word = first_word(address.as_str());
        self.survey.spots.iter().position(|spot| {
            spot.name == word || spot.devices.iter().any(|device| first_word(device) == word)
        })
    }

    /// Faults that no drawn conductor carries are told in their boxes, else in the first.
    fn place_the_rest(&self, contents: &mut [Content]) {
        let shown = shown_numbers(contents);
        let mut rest: Vec<(&String, Mark)> = self
            .marks
            .by_element
            .iter()
            .filter(|(element, _)| !element.starts_with("contact:"))
            .flat_map(|(element, marks)| marks.iter().map(move |mark| (element, *mark)))
            .filter(|(_, mark)| !shown.contains(&mark.number))
            .collect();
        rest.sort_by_key(|(element, mark)| (mark.number, (*element).clone()));
        rest.dedup_by_key(|(_, mark)| mark.number);
        for (element, mark) in rest {
            let joint = self.circuit.joint_of_element(element);
            let place = joint
                .and_then(|joint| contents.iter().position(|content| content.title == joint.place));
            let entrance = || (0..contents.len()).find(|&spot| self.is_entrance(spot));
            let what = joint.map_or(element.as_str(), |joint| joint.address.as_str()).to_owned();
            if let Some(spot) = place.or_else(entrance) {
                let note = Note { symbol: Symbol::None, marks: vec![mark], text: what };
                contents[spot].notes.push(note);
            }
        }
    }

    fn vocabulary(&self) -> Vocabulary {
        self.circuit.parts().vocabulary
    }

    /// What a conductor is called in this circuit's words.
    pub(super) fn word(&self, conductor: &str) -> String {
        vocabulary::conductor(self.vocabulary(), conductor)
    }
}

/// Draws a bridge between two points of one box there; else tells it in each box.
fn place_bridge(bridge: &BridgeMark, contents: &mut [Content]) {
    let (one, other) = &bridge.between;
    for content in contents.iter_mut() {
        if let (Some(one), Some(other)) = (content.find(one), content.find(other))
            && one.0 != other.0
        {
            content.bridges.push(InnerBridge { mark: bridge.mark, ends: [one, other] });
            return;
        }
    }
    for (here, there) in [(one, other), (other, one)] {
        let word = first_word(here.as_str());
        let found = contents.iter().position(|content| content.find(here).is_some());
        let named = || contents.iter().position(|content| content.title == word);
        if let Some(spot) = found.or_else(named) {
            contents[spot].notes.push(Note {
                symbol: Symbol::None,
                marks: vec![bridge.mark],
                text: format!("{here} bridged to {there}"),
            });
        }
    }
}

impl Content {
    /// The lane, and the column of slots, that an address is.
    fn find(&self, address: &Address) -> Option<(usize, Option<usize>)> {
        self.lanes.iter().enumerate().find_map(|(number, lane)| {
            let slot = lane
                .slots
                .iter()
                .position(|slot| slot.as_ref().is_some_and(|slot| slot.address == *address));
            let end = lane.ends.iter().flatten().any(|end| end.address == *address);
            (slot.is_some() || end).then_some((number, slot))
        })
    }
}

/// Numbers of the faults that the boxes show.
fn shown_numbers(contents: &[Content]) -> Vec<usize> {
    let mut shown = Vec::new();
    for content in contents {
        let notes = content.notes.iter().flat_map(|note| &note.marks);
        shown.extend(notes.map(|mark| mark.number));
        for lane in &content.lanes {
            if let Between::Metal(marks) | Between::Contact { marks, .. } = &lane.between {
                shown.extend(marks.iter().map(|mark| mark.number));
            }
            let slots = lane.slots.iter().flatten().flat_map(|slot| &slot.marks);
            shown.extend(slots.map(|mark| mark.number));
        }
        let switched = content.switched.iter().flat_map(|switched| &switched.marks);
        shown.extend(switched.map(|mark| mark.number));
        let contacts = content.blocks.iter().flat_map(|block| &block.strands);
        let contacts = contacts.filter_map(|strand| strand.contact.as_ref());
        shown.extend(contacts.flat_map(|(_, marks)| marks).map(|mark| mark.number));
    }
    shown
}

/// Which terminals a three-way or four-way switch joins.
fn ways(inner: &[&Inner<'_>], meter: &Meter<'_>) -> String {
    let joined = inner.iter().filter(|inner| !meter.is_open(&inner.element));
    let words: Vec<String> = joined
        .map(|inner| format!("{} to {}", last_word(inner.a.as_str()), last_word(inner.b.as_str())))
        .collect();
    if words.is_empty() { "OPEN".to_owned() } else { words.join(", ") }
}

fn configurations(spot: &Spot<'_>) -> Vec<String> {
    let mut names: Vec<String> =
        spot.outlets.iter().map(|outlet| outlet.configuration.clone()).collect();
    names.dedup();
    names
}

fn lane_named<'l>(lanes: &'l mut Vec<Lane>, name: &str) -> &'l mut Lane {
    let at = lanes.iter().position(|lane| lane.name == name).unwrap_or(lanes.len());
    if at == lanes.len() {
        lanes.push(Lane {
            name: name.to_owned(),
            ends: [None, None],
            between: Between::Nothing,
            slots: Vec::new(),
        });
    }
    &mut lanes[at]
}

/// The position of an end in pairs of ends.
pub(super) const fn end_number(end: CableEnd) -> usize {
    match end {
        CableEnd::A => 0,
        CableEnd::B => 1,
    }
}

pub(super) fn first_word(address: &str) -> &str {
    address.split('.').next().unwrap_or(address)
}

pub(super) fn last_word(address: &str) -> &str {
    address.rsplit('.').next().unwrap_or(address)
}
