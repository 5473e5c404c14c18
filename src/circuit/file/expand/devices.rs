//! Devices: their terminals, and which of the box's conductors each terminal takes.

use crate::circuit::configuration::Configuration;
use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{BoxForm, DeviceForm, Text};
use crate::circuit::file::limits::DEVICES_MAX;
use crate::circuit::file::near::with_nearest;
use crate::circuit::file::tree::Span;
use crate::circuit::{Device, DeviceKind, Outlet, Sensing};
use crate::quantity::Address;

use super::Expansion;
use super::junction::Tap;

mod duplex;
mod protective;
mod switches;

/// What the devices of one box come to.
#[derive(Default)]
pub(super) struct Fittings {
    pub(super) taps: Vec<Tap>,
    /// Conductors that a device parts into a line side and a load side.
    pub(super) parted: Vec<String>,
    pub(super) outlets: Vec<Outlet>,
    pub(super) devices: Vec<String>,
    /// Those of them that are protective.
    protective: Vec<String>,
}

/// The box a device is in, and its name.
struct At<'b> {
    place: &'b str,
    id: String,
    span: Span,
    /// Conductors that come to the box.
    present: &'b [String],
}

impl At<'_> {
    fn tap(&self, conductor: &str, terminal: &str, label: &str) -> Tap {
        Tap {
            conductor: conductor.to_owned(),
            load_side: false,
            terminal: Address::from(format!("{}.{terminal}", self.id)),
            device: self.id.clone(),
            label: label.to_owned(),
            lead: false,
            optional: false,
            span: self.span.clone(),
        }
    }
}

impl<'f> Expansion<'f> {
    /// All devices of a box; a plain receptacle where none is spoken of.
    pub(super) fn fittings(&mut self, place: &'f BoxForm, present: &[String]) -> Fittings {
        let mut fittings = Fittings::default();
        if let (Some(_), Some(_)) = (&place.device, &place.devices) {
            self.say(
                Diagnostic::error(
                    "devices-twice",
                    format!("the devices of box `{}` are stated twice", place.id.value),
                    place.id.span.clone(),
                )
                .with_expected("`device` for one, `devices` for several or none"),
            );
        }
        let plain = DeviceForm::Receptacle {
            id: None,
            configuration: None,
            hot: None,
            neutral: None,
            behind: None,
        };
        let one = place.device.as_ref().map(std::slice::from_ref);
        let forms: &[DeviceForm] = match (one, &place.devices) {
            (Some(one), _) => one,
            (None, Some(several)) => several,
            (None, None) => std::slice::from_ref(&plain),
        };
        if forms.len() > DEVICES_MAX {
            let message = format!("a box has at most {DEVICES_MAX} devices");
            let diagnostic = Diagnostic::error("too-many-devices", message, place.id.span.clone());
            self.say(diagnostic.with_help("make it several boxes"));
        }
        let mut nameless = false;
        for form in forms.iter().take(DEVICES_MAX) {
            let (id, span) = match device_id(form) {
                Some(id) => {
                    self.device_name(id);
                    let full = format!("{}.{}", place.id.value, id.value);
                    (full, id.span.clone())
                }
                None => (place.id.value.clone(), place.id.span.clone()),
            };
            if device_id(form).is_none() && std::mem::replace(&mut nameless, true) {
                self.say(
                    Diagnostic::error(
                        "device-without-name",
                        format!("box `{}` has several devices without a name", place.id.value),
                        span.clone(),
                    )
                    .with_help("the first is called like the box; give each other one an `id`"),
                );
                continue;
            }
            if fittings.devices.contains(&id) {
                self.say(
                    Diagnostic::error(
                        "name-taken",
                        format!("box `{}` has another device of that name", place.id.value),
                        span,
                    )
                    .with_expected("a name of its own for each device"),
                );
                continue;
            }
            let at = At { place: place.id.as_str(), id, span, present };
            self.device(form, &at, &mut fittings);
        }
        fittings
    }

    fn device(&mut self, form: &DeviceForm, at: &At<'_>, fittings: &mut Fittings) {
        match form {
            DeviceForm::Receptacle { configuration, hot, neutral, behind, .. } => {
                let configuration = self.configuration(configuration.as_ref());
                let load_side = behind.as_ref().is_some_and(|b| self.is_behind(b, at, fittings));
                let wires = [("hot", hot.as_ref()), ("neutral", neutral.as_ref())];
                self.receptacle(configuration, wires, at, fittings, load_side);
            }
            DeviceForm::Duplex { .. } => self.duplex(form, at, fittings),
            DeviceForm::GroundFault { .. } => self.ground_fault(form, at, fittings),
            DeviceForm::ArcFault { configuration, face, feeds, on, .. } => {
                let sensing = Sensing {
                    residual_trip_ampere: None,
                    delayed: false,
                    grounded_neutral_ohm: None,
                    rating_ampere: None,
                    arc_fault: true,
                    needs_supply: true,
                };
                let poles = vec!["hot".to_owned(), "neutral".to_owned()];
                let face = face.unwrap_or(true).then_some(configuration.as_ref());
                self.protective(
                    (poles, sensing, on.unwrap_or(true)),
                    face,
                    feeds.unwrap_or(false),
                    at,
                    fittings,
                );
            }
            DeviceForm::Switch { from, to, second, third, closed, .. } => {
                let mut pairs = vec![(word(from.as_ref(), "hot"), word(to.as_ref(), "switched"))];
                for pair in [second, third].into_iter().flatten() {
                    pairs.push((pair.0.value.clone(), pair.1.value.clone()));
                }
                self.switch(&pairs, closed.unwrap_or(false), None, at, fittings);
            }
            DeviceForm::Dimmer { .. } => self.dimmer(form, at, fittings),
            DeviceForm::ThreeWay { common, position, .. } => {
                let position = match position {
                    Some(position) if !matches!(position.value, 1 | 2) => {
                        self.say(
                            Diagnostic::error(
                                "switch-position",
                                format!("a three-way switch has no position {}", position.value),
                                position.span.clone(),
                            )
                            .with_expected("1 or 2, the traveller the common is on"),
                        );
                        1
                    }
                    Some(position) => position.value,
                    None => 1,
                };
                self.three_way(common, position, at, fittings);
            }
            DeviceForm::FourWay { crossed, .. } => {
                self.four_way(crossed.unwrap_or(false), at, fittings);
            }
        }
    }

    /// The stated configuration, that of `defaults`, or the usual one.
    fn configuration(&mut self, stated: Option<&Text>) -> Configuration {
        let default = self.form.defaults.as_ref().and_then(|d| d.configuration.as_ref());
        let usual = if self.metric() { "BS 1363" } else { "NEMA 5-15" };
        let Some(text) = stated.or(default) else {
            return Configuration::named(usual).unwrap_or(Configuration::all()[0]);
        };
        if let Some(found) = Configuration::named(text.as_str()) {
            return found;
        }
        let names: Vec<&str> = Configuration::all().iter().map(|c| c.name).collect();
        let diagnostic = Diagnostic::error(
            "unknown-configuration",
            format!("there is no receptacle of configuration `{}` here", text.value),
            text.span.clone(),
        )
        .with_expected("a standard name, as \"NEMA 5-15\", \"BS 1363\" or \"CEE 7/3\"");
        let diagnostic = with_nearest(diagnostic, text.as_str(), &names);
        self.say(diagnostic);
        Configuration::named(usual).unwrap_or(Configuration::all()[0])
    }

    /// A plain receptacle; `wires` are the conductors stated for its slots.
    fn receptacle(
        &mut self,
        configuration: Configuration,
        wires: [(&str, Option<&Text>); 2],
        at: &At<'_>,
        fittings: &mut Fittings,
        load_side: bool,
    ) {
        let first_hot = at.present.iter().find(|name| name.starts_with("hot"));
        for slot in configuration.slots {
            let stated = wires.iter().find(|(name, _)| name == slot).and_then(|(_, wire)| *wire);
            let conductor = match (*slot, stated) {
                (_, Some(stated)) => stated.as_str(),
                ("hot", None) => first_hot.map_or("hot", String::as_str),
                (slot, None) => slot,
            };
            let mut tap = at.tap(conductor, slot, slot);
            tap.optional = *slot == "ground";
            // What the device does not break, its ground, is that of the box.
            let is_broken = |other: &Tap| {
                other.load_side && other.device != at.id && other.conductor == conductor
            };
            tap.load_side = load_side && fittings.taps.iter().any(is_broken);
            if let Some(stated) = stated {
                tap.span = stated.span.clone();
            }
            self.outlet_conductors
                .entry(at.id.clone())
                .or_default()
                .insert((*slot).to_owned(), conductor.to_owned());
            fittings.taps.push(tap);
        }
        self.outlet(configuration, at, fittings, |slot| format!("{}.{slot}", at.id));
        let kind = DeviceKind::Receptacle { configuration: configuration.name.to_owned() };
        self.push_device(at.id.clone(), kind, fittings);
    }

    /// A set of contacts named like its device.
    fn outlet(
        &mut self,
        configuration: Configuration,
        at: &At<'_>,
        fittings: &mut Fittings,
        node: impl Fn(&str) -> String,
    ) {
        let slots = configuration
            .slots
            .iter()
            .map(|slot| ((*slot).to_owned(), Address::from(node(slot))))
            .collect();
        fittings.outlets.push(Outlet {
            address: Address::from(at.id.as_str()),
            configuration: configuration.name.to_owned(),
            slots,
        });
    }

    fn push_device(&mut self, id: String, kind: DeviceKind, fittings: &mut Fittings) {
        fittings.devices.push(id.clone());
        self.out.devices.push(Device { id, kind });
    }
}

fn word(stated: Option<&Text>, otherwise: &str) -> String {
    stated.map_or(otherwise, |text| text.as_str()).to_owned()
}

fn device_id(form: &DeviceForm) -> Option<&Text> {
    match form {
        DeviceForm::Receptacle { id, .. }
        | DeviceForm::Duplex { id, .. }
        | DeviceForm::GroundFault { id, .. }
        | DeviceForm::ArcFault { id, .. }
        | DeviceForm::Switch { id, .. }
        | DeviceForm::ThreeWay { id, .. }
        | DeviceForm::FourWay { id, .. }
        | DeviceForm::Dimmer { id, .. } => id.as_ref(),
    }
}
