//! Conductors exchanged: at a device, at a cable end, and the two sides of a protective device.

use std::collections::BTreeMap;

use crate::circuit::{CableEnd, DeviceKind, Landing, Part};
use crate::condition::{EndOfCable, Fault};

use super::{About, FaultKind, Lister, PossibleFault, is_ground, last_word, of_faults};

impl Lister<'_> {
    pub(super) fn exchanges(&self, faults: &mut Vec<PossibleFault>) {
        self.at_devices(faults);
        for cable in &self.circuit.parts().cables {
            for (end, landings) in [CableEnd::A, CableEnd::B].into_iter().zip(&cable.ends) {
                let at = EndOfCable { cable: cable.id.clone(), end };
                self.at_cable_end(&at, landings, faults);
            }
        }
        self.at_devices_run_through(faults);
        self.sides(faults);
    }

    /// All that lands on two contacts of a device that the run goes through: its own slots are exchanged
    /// and what lies past it is not.
    fn at_devices_run_through(&self, faults: &mut Vec<PossibleFault>) {
        for (place, outlet) in self.circuit.outlets() {
            for ((p, first), (q, second)) in pairs(&outlet.slots) {
                let ends = self.ends_at(first.as_str(), second.as_str());
                let Some((_, conductors)) = ends.first().filter(|_| ends.len() > 1) else {
                    continue;
                };
                let about = About {
                    conductors: vec![conductors.0.clone(), conductors.1.clone()],
                    places: vec![place.id.clone()],
                    subject: format!("exchanged {first} {second}"),
                };
                let exchanged = ends.iter().map(|(end, conductors)| Fault::ExchangedAtCableEnd {
                    end: end.clone(),
                    conductors: conductors.clone(),
                });
                let kind = FaultKind::ExchangedAtDevice;
                let weight = self.device_odds(p, q);
                faults.push(of_faults(kind, about, exchanged.collect(), weight));
            }
        }
    }

    /// Ends of cables that land on two contacts of a device, or on their screws for what goes on, with the
    /// conductors that do.
    fn ends_at(&self, first: &str, second: &str) -> Vec<(EndOfCable, (String, String))> {
        let goes_on =
            |slot: &str| slot.rsplit_once('.').map(|(at, name)| format!("{at}.through.{name}"));
        let (first, second) = ((first, goes_on(first)), (second, goes_on(second)));
        let mut found = Vec::new();
        for cable in &self.circuit.parts().cables {
            for (end, landings) in [CableEnd::A, CableEnd::B].into_iter().zip(&cable.ends) {
                let on = |(slot, screw): &(&str, Option<String>)| {
                    let lands = |to: &str| to == *slot || screw.as_deref() == Some(to);
                    landings.iter().find(|landing| lands(landing.to.as_str()))
                };
                if let Some((one, other)) = on(&first).zip(on(&second)) {
                    let end = EndOfCable { cable: cable.id.clone(), end };
                    found.push((end, (one.conductor.clone(), other.conductor.clone())));
                }
            }
        }
        found
    }

    /// Two screws of one device: its own slots are exchanged and what lies past it is not.
    fn at_devices(&self, faults: &mut Vec<PossibleFault>) {
        let mut screws: BTreeMap<String, Vec<(String, String)>> = BTreeMap::new();
        for connection in self.circuit.connections() {
            let Part::Link(link) = connection.part else { continue };
            let landing = connection.b.as_str();
            let Some((terminals, last)) = landing.rsplit_once('.') else { continue };
            if !self.plugs.contains(link.id.as_str()) && self.is_device(terminals) {
                let screw = (last.to_owned(), connection.element);
                screws.entry(terminals.to_owned()).or_default().push(screw);
            }
        }
        for (terminals, screws) in &self.of_whole_devices(screws) {
            for ((p, first), (q, second)) in pairs(screws) {
                if p == q {
                    continue;
                }
                let about = About {
                    conductors: vec![p.clone(), q.clone()],
                    places: self.place_of(terminals),
                    subject: format!("exchanged {first} {second}"),
                };
                let exchanged =
                    Fault::ExchangedJoints { elements: (first.clone(), second.clone()) };
                let weight = self.device_odds(p, q);
                let kind = FaultKind::ExchangedAtDevice;
                faults.push(of_faults(kind, about, vec![exchanged], weight));
            }
        }
    }

    /// The halves of a duplex and the ground that they share are screws of one device: what lands
    /// on the one may be on the other. It stands where its upper half did.
    fn of_whole_devices(
        &self,
        mut screws: BTreeMap<String, Vec<(String, String)>>,
    ) -> BTreeMap<String, Vec<(String, String)>> {
        for device in &self.circuit.parts().devices {
            if !matches!(device.kind, DeviceKind::Duplex { .. }) {
                continue;
            }
            let halves = ["top", "bottom"].map(|half| format!("{}.{half}", device.id));
            let Some(whole) = halves.iter().find(|half| screws.contains_key(*half)).cloned() else {
                continue;
            };
            for part in halves.iter().chain([&device.id]) {
                if *part != whole
                    && let Some(more) = screws.remove(part)
                {
                    screws.entry(whole.clone()).or_default().extend(more);
                }
            }
        }
        screws
    }

    /// Terminals of a receptacle, of one half or side of a device, or of a switch that has more
    /// than a way in and a way out.
    fn is_device(&self, terminals: &str) -> bool {
        self.circuit.parts().devices.iter().any(|device| {
            let own = terminals.strip_prefix(device.id.as_str());
            match device.kind {
                DeviceKind::Switch { .. } => false,
                _ => matches!(own, Some("" | ".top" | ".bottom" | ".line" | ".load")),
            }
        })
    }

    fn at_cable_end(&self, at: &EndOfCable, landings: &[Landing], faults: &mut Vec<PossibleFault>) {
        let slot = |landing: &Landing| self.slots.contains(landing.to.as_str());
        for (first, second) in pairs(landings) {
            let (p, q) = (&first.conductor, &second.conductor);
            let at_device = slot(first)
                && slot(second)
                && self.ends_at(first.to.as_str(), second.to.as_str()).len() < 2;
            let joint = format!("contact:{}.{}.{p}", at.cable, at.end.letter());
            let places = match self.circuit.joint_of_element(&joint) {
                Some(joint) => vec![joint.place.clone()],
                None => self.place_of(first.to.as_str()),
            };
            let about = About {
                conductors: vec![p.clone(), q.clone()],
                places,
                subject: format!("exchanged {} {} {p} {q}", at.cable, at.end.letter()),
            };
            let (kind, weight) = match at_device {
                true => (FaultKind::ExchangedAtDevice, self.device_odds(p, q)),
                false => (FaultKind::ExchangedAtCableEnd, self.cable_end_odds(p, q)),
            };
            let conductors = (p.clone(), q.clone());
            let exchanged = Fault::ExchangedAtCableEnd { end: at.clone(), conductors };
            faults.push(of_faults(kind, about, vec![exchanged], weight));
        }
    }

    /// Line and load sides, where anything is fed through the device.
    fn sides(&self, faults: &mut Vec<PossibleFault>) {
        for device in &self.circuit.parts().devices {
            let DeviceKind::Protective { poles, .. } = &device.kind else { continue };
            let feeds = self.circuit.connections().any(|connection| {
                let own = matches!(connection.part, Part::Switch(of, _) if of.id == device.id);
                let slot = |end: &str| self.slots.contains(end);
                let load_side = |end: &str| {
                    poles.iter().any(|pole| *end == format!("{}.load.{pole}", device.id))
                };
                let (a, b) = (connection.a.as_str(), connection.b.as_str());
                !own && ((load_side(a) && !slot(b)) || (load_side(b) && !slot(a)))
            });
            if feeds {
                let about = About {
                    conductors: poles.clone(),
                    places: self.place_of(&device.id),
                    subject: format!("sides of {}", device.id),
                };
                let fault = Fault::LineLoadExchanged { device: device.id.clone() };
                let weight = self.priors.line_load_exchanged;
                faults.push(of_faults(FaultKind::LineLoadExchanged, about, vec![fault], weight));
            }
        }
    }

    fn device_odds(&self, p: &str, q: &str) -> f64 {
        let priors = self.priors;
        match (is_ground(p) || is_ground(q), p == "neutral" || q == "neutral") {
            (true, true) => priors.neutral_ground_at_device,
            (true, false) => priors.hot_ground_exchanged,
            (false, true) => priors.hot_neutral_at_device,
            (false, false) => priors.exchanged_at_cable_end,
        }
    }

    fn cable_end_odds(&self, p: &str, q: &str) -> f64 {
        let hot_to_ground = (is_ground(p) || is_ground(q)) && p != "neutral" && q != "neutral";
        match hot_to_ground {
            true => self.priors.hot_ground_exchanged,
            false => self.priors.exchanged_at_cable_end,
        }
    }
}

/// Every two of a list, in its order.
pub(super) fn pairs<T>(list: &[T]) -> impl Iterator<Item = (&T, &T)> {
    list.iter()
        .enumerate()
        .flat_map(move |(at, first)| list.iter().skip(at + 1).map(move |second| (first, second)))
}

/// The conductor that a terminal is named for.
pub(super) fn named_for(terminal: &str) -> String {
    last_word(terminal).to_owned()
}
