//! How the wires of one conductor meet in a box.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::tree::Span;
use crate::circuit::{JointKind, Landing, Side};
use crate::quantity::Address;

use super::Expansion;

/// A cable's wire that ends in the box.
#[derive(Clone, Debug)]
pub(super) struct Wire {
    /// The cable.
    pub(super) cable: String,
    /// Its end here: 0 for a, 1 for b.
    pub(super) end: usize,
    /// The place at its other end, for a cable that leaves.
    pub(super) next: Option<String>,
}

/// A terminal of a device, or a lead of a wired-in load, that takes the conductor.
#[derive(Clone, Debug)]
pub(super) struct Tap {
    /// The box's conductor.
    pub(super) conductor: String,
    /// Whether it is on the load side of a device that parts the box.
    pub(super) load_side: bool,
    /// The terminal.
    pub(super) terminal: Address,
    /// The device or load, which begins the names of its links.
    pub(super) device: String,
    /// What ends the names of its links.
    pub(super) label: String,
    /// It has leads to be spliced instead of terminals.
    pub(super) lead: bool,
    /// Doing without is allowed: a receptacle's ground.
    pub(super) optional: bool,
    /// Where the file speaks of it.
    pub(super) span: Span,
}

/// Everything of one conductor that meets in a box.
pub(super) struct Junction<'b> {
    /// The box.
    pub(super) place: &'b str,
    /// The conductor.
    pub(super) conductor: &'b str,
    /// `splice`, or `splice-load` behind a device that parts the box.
    pub(super) splice: &'b str,
    /// Wires that arrive, then wires that leave.
    pub(super) wires: Vec<Wire>,
    /// One wire leaves.
    pub(super) one_leaves: bool,
    /// Terminals that take it.
    pub(super) taps: Vec<Tap>,
    /// Parts of the file that land on the splice by its address.
    pub(super) by_hand: usize,
    /// It runs through the device's terminals.
    pub(super) feed_through: bool,
    /// Resistance and kind of a device terminal.
    pub(super) terminal: (f64, JointKind),
    /// Resistance of a pigtail's wire, ohms.
    pub(super) pigtail_ohm: f64,
}

impl Expansion<'_> {
    /// Joins everything of one conductor.
    pub(super) fn junction(&mut self, junction: &Junction<'_>) {
        let arrivals = junction.wires.iter().filter(|wire| wire.next.is_none()).count();
        let through = junction.feed_through
            && junction.by_hand == 0
            && arrivals == 1
            && junction.wires.len() > 1;
        match (junction.taps.as_slice(), junction.wires.as_slice()) {
            ([tap], [wire]) if junction.by_hand == 0 && !tap.lead => {
                let to = tap.terminal.clone();
                self.land(junction, wire, to, junction.terminal);
            }
            ([tap], _) if through && !tap.lead => self.run_through(junction, tap),
            ([_], []) if junction.by_hand == 0 => {}
            _ => self.splice(junction),
        }
    }

    fn splice(&mut self, junction: &Junction<'_>) {
        let Junction { place, conductor, splice, .. } = *junction;
        let node = Address::from(format!("{place}.{splice}.{conductor}"));
        let contact = (self.contacts.splice_ohm, JointKind::Splice);
        for wire in &junction.wires {
            self.land(junction, wire, node.clone(), contact);
        }
        for tap in &junction.taps {
            self.tap_splice(junction, tap, &node);
        }
    }

    fn tap_splice(&mut self, junction: &Junction<'_>, tap: &Tap, node: &Address) {
        let at = (junction.place, junction.conductor);
        let (screw_ohm, screw_kind) = junction.terminal;
        let Tap { device, label, terminal, .. } = tap;
        if tap.lead {
            let id = format!("{device}.screw.{label}");
            self.joint(id.clone(), format!("link:{id}"), at, (JointKind::Splice, Side::Here));
            self.link(id, node.clone(), terminal.clone(), self.contacts.splice_ohm);
            return;
        }
        let tail = Address::from(format!("{device}.tail.{label}"));
        let pigtail = format!("{device}.pigtail.{label}");
        let screw = format!("{device}.screw.{label}");
        let kind = (JointKind::Pigtail, Side::Here);
        self.joint(pigtail.clone(), format!("link:{pigtail}"), at, kind);
        self.joint(screw.clone(), format!("link:{screw}"), at, (screw_kind, Side::Here));
        let pigtail_ohm = self.contacts.splice_ohm + junction.pigtail_ohm;
        self.link(pigtail, node.clone(), tail.clone(), pigtail_ohm);
        self.link(screw, tail, terminal.clone(), screw_ohm);
    }

    /// The arriving wire on one screw, the leaving ones on the other, the strap between.
    fn run_through(&mut self, junction: &Junction<'_>, tap: &Tap) {
        let Tap { device, label, terminal, .. } = tap;
        let through = Address::from(format!("{device}.through.{label}"));
        for wire in &junction.wires {
            let to = if wire.next.is_none() { terminal.clone() } else { through.clone() };
            self.land(junction, wire, to, junction.terminal);
        }
        let strap = format!("{device}.strap.{label}");
        let at = (junction.place, junction.conductor);
        self.joint(strap.clone(), format!("link:{strap}"), at, (JointKind::Strap, Side::Here));
        self.link(strap, terminal.clone(), through, self.contacts.strap_ohm);
    }

    /// Lands a wire, with its joint: `PLACE.line.c` if it arrives; if it leaves `PLACE.load.c`,
    /// where it is the only one, and `PLACE.load-NEXT.c`.
    fn land(
        &mut self,
        junction: &Junction<'_>,
        wire: &Wire,
        to: Address,
        (contact_ohm, kind): (f64, JointKind),
    ) {
        let Junction { place, conductor, .. } = *junction;
        let end = if wire.end == 0 { "a" } else { "b" };
        let element = format!("contact:{}.{end}.{conductor}", wire.cable);
        let at = (place, conductor);
        match &wire.next {
            None => {
                self.joint(format!("{place}.line.{conductor}"), element, at, (kind, Side::Line));
            }
            Some(next) => {
                let kind = (kind, Side::Load);
                if junction.one_leaves {
                    self.joint(format!("{place}.load.{conductor}"), element.clone(), at, kind);
                }
                self.joint(format!("{place}.load-{next}.{conductor}"), element, at, kind);
            }
        }
        let landing = Landing { conductor: conductor.to_owned(), to, contact_ohm };
        self.land_cable(&wire.cable, wire.end, landing);
    }

    /// Whether a link, a bond or an electrode that is written by hand ends there.
    fn is_joined_by_hand(&self, address: &str) -> bool {
        let links = self.form.links.iter().map(|link| &link.between);
        let mut pairs = links.chain(self.form.bonds.iter().map(|bond| &bond.between));
        pairs.any(|(one, other)| one.as_str() == address || other.as_str() == address)
            || self.form.electrodes.iter().any(|electrode| electrode.at.as_str() == address)
    }

    /// Says that a device takes a conductor that does not come to its box.
    pub(super) fn nothing_to_take(&mut self, tap: &Tap, place: &str, present: &[String]) {
        let has = if present.is_empty() { "nothing".to_owned() } else { present.join(", ") };
        let (device, conductor) = (&tap.device, &tap.conductor);
        if tap.optional && self.is_joined_by_hand(&format!("{device}.{conductor}")) {
            return;
        }
        if tap.optional {
            self.say_missing(
                Diagnostic::warning(
                    "no-ground",
                    format!("no ground comes to `{device}`: its ground is joined to nothing"),
                    tap.span.clone(),
                )
                .with_help(
                    "say `configuration: \"NEMA 1-15\"`, or another without ground, if it has none",
                ),
            );
            return;
        }
        self.say_missing(
            Diagnostic::error(
                "no-such-wire",
                format!("`{device}` takes `{conductor}`, but no such wire comes to box `{place}`"),
                tap.span.clone(),
            )
            .with_expected(format!("one of the wires here: {has}"))
            .with_help("`carries: [...]` says which wires a cable has"),
        );
    }
}
