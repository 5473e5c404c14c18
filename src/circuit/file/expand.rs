//! From the form to the explicit parts: every default filled in, every joint given its place.
//!
//! One file a kind of part; [`Expansion`] carries what they share. Mistakes of meaning are
//! said where they are met, and the expansion goes on with something harmless in their place.

use std::collections::{HashMap, HashSet};

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::table::Contacts;
use crate::circuit::{
    Description, Joint, JointKind, Link, PlaceKind, RangeOf, Side, StatedRange, Vocabulary,
};
use crate::quantity::{Address, Phasor};

use super::form::{FileForm, LoadForm, SystemForm, Text, WordsForm};
use super::sink::Sink;
use super::tree::Span;

mod amount;
mod boxes;
mod cable;
mod contacts;
mod dead_ends;
mod devices;
mod extras;
mod joints;
mod junction;
mod length;
mod loads;
mod loose_wires;
mod lost;
mod names;
mod panel;
mod plan;
mod rings;
mod supply;

/// Expands `form`; what is wrong with it is said in `sink`.
pub(crate) fn expand(form: &FileForm, sink: &mut Sink) -> Description {
    let mut expansion = Expansion::new(form, sink);
    expansion.names();
    expansion.supply();
    expansion.circuits();
    let plan = expansion.plan();
    expansion.feeders(&plan);
    expansion.boxes(&plan);
    expansion.rings(&plan);
    expansion.loads(&plan);
    expansion.extras();
    expansion.joint_overrides();
    expansion.out
}

/// What the steps of an expansion share.
pub(crate) struct Expansion<'f> {
    form: &'f FileForm,
    sink: &'f mut Sink,
    out: Description,
    contacts: Contacts,
    system: SystemForm,
    /// Open-circuit potential of each bar.
    bars: HashMap<String, Phasor>,
    /// Where the names of circuits, panels, boxes, cables, devices and loads stand.
    names: HashMap<String, (Span, &'static str)>,
    /// How names should have been written that cannot be: what speaks of them so is right.
    respelt: HashSet<String>,
    /// Loads by where they are.
    loads_at: HashMap<&'f str, Vec<&'f LoadForm>>,
    /// Boxes that cables written by hand land in.
    landed_by_hand: HashSet<&'f str>,
    /// Links of plugs made so far.
    plugs: HashSet<String>,
    /// The bus each pole sits on.
    buses_of: HashMap<String, String>,
    /// For each set of contacts: the box's conductor behind each slot.
    outlet_conductors: HashMap<String, HashMap<String, String>>,
    /// Where each cable and each place is in the description.
    cable_index: HashMap<String, usize>,
    place_index: HashMap<String, usize>,
}

impl<'f> Expansion<'f> {
    fn new(form: &'f FileForm, sink: &'f mut Sink) -> Self {
        let system =
            form.supply.as_ref().and_then(|supply| supply.system).unwrap_or(SystemForm::SplitPhase);
        let iec = match form.words {
            Some(words) => words == WordsForm::Iec,
            None => matches!(system, SystemForm::Wye400 | SystemForm::Single230),
        };
        let out = Description {
            name: form.name.as_ref().map(|name| name.value.clone()).unwrap_or_default(),
            vocabulary: if iec { Vocabulary::Iec } else { Vocabulary::NorthAmerican },
            ..Description::default()
        };
        let mut expansion = Self {
            form,
            sink,
            out,
            contacts: Contacts::default(),
            system,
            bars: HashMap::new(),
            names: HashMap::new(),
            respelt: HashSet::new(),
            loads_at: HashMap::new(),
            landed_by_hand: landed_by_hand(form),
            plugs: HashSet::new(),
            buses_of: HashMap::new(),
            outlet_conductors: HashMap::new(),
            cable_index: HashMap::new(),
            place_index: HashMap::new(),
        };
        for load in &form.loads {
            expansion.loads_at.entry(load.at.as_str()).or_default().push(load);
        }
        expansion.contacts();
        expansion
    }

    fn say(&mut self, diagnostic: Diagnostic) {
        self.sink.say(diagnostic);
    }

    /// Says that something is missing, unless it may be there and could not be read.
    fn say_missing(&mut self, diagnostic: Diagnostic) {
        self.sink.say_missing(diagnostic);
    }

    /// Says that no thing has the name `written`, unless that follows from what has been said of names.
    fn say_unknown(&mut self, written: &Text, diagnostic: Diagnostic) {
        if !self.respelt.contains(written.as_str()) {
            self.sink.say_unknown(diagnostic);
        }
    }

    /// Whether sizes and ratings default to those of IEC countries.
    fn metric(&self) -> bool {
        self.out.vocabulary == Vocabulary::Iec
    }

    fn link(&mut self, id: String, from: Address, to: Address, resistance_ohm: f64) {
        self.out.links.push(Link { id, between: (from, to), resistance_ohm });
    }

    fn joint(
        &mut self,
        address: String,
        element: String,
        (place, conductor): (&str, &str),
        (kind, side): (JointKind, Side),
    ) {
        self.out.joints.push(Joint {
            address: Address::from(address),
            element,
            place: place.to_owned(),
            conductor: conductor.to_owned(),
            kind,
            side,
        });
    }

    fn range(&mut self, of: RangeOf, low: f64, high: f64) {
        self.out.ranges.push(StatedRange { of, low, high });
    }

    fn panel_exists(&self, id: &str) -> bool {
        let place = self.place_index.get(id).and_then(|index| self.out.places.get(*index));
        place.is_some_and(|place| place.kind == PlaceKind::Panel)
    }
}

/// The first words of all addresses that cables written by hand land on.
fn landed_by_hand(form: &FileForm) -> HashSet<&str> {
    let landings = form.cables.iter().flat_map(|cable| cable.near.iter().chain(&cable.far));
    landings.filter_map(|landing| landing.to.as_str().split('.').next()).collect()
}
