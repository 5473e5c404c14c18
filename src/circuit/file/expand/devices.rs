//! Devices: their terminals, and which of the box's conductors each terminal takes.

use crate::circuit::configuration::Configuration;
use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{BoxForm, DeviceForm, TabForm, Text};
use crate::circuit::file::limits::DEVICES_MAX;
use crate::circuit::file::near::with_nearest;
use crate::circuit::file::tree::Span;
use crate::circuit::{
    Device, DeviceKind, JointKind, Lumped, LumpedKind, Outlet, Sensing, Side, Tab,
};
use crate::quantity::Address;

use super::Expansion;
use super::amount::{BREAKER_AMPERES, MICROFARADS, MILLIAMPERES, OHMS};
use super::junction::Tap;

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
            tap.load_side = load_side;
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

    fn duplex(&mut self, form: &DeviceForm, at: &At<'_>, fittings: &mut Fittings) {
        let DeviceForm::Duplex {
            configuration,
            top,
            bottom,
            top_neutral,
            bottom_neutral,
            hot_tab,
            neutral_tab,
            ..
        } = form
        else {
            return;
        };
        let configuration = self.configuration(configuration.as_ref());
        if configuration.slots != ["hot", "neutral", "ground"] {
            self.say(
                Diagnostic::error(
                    "not-a-duplex",
                    format!("{} does not come as a duplex with tabs", configuration.name),
                    at.span.clone(),
                )
                .with_expected("a configuration with hot, neutral and ground, as \"NEMA 5-15\""),
            );
        }
        for (conductor, upper, lower, tab) in
            [("hot", top, bottom, hot_tab), ("neutral", top_neutral, bottom_neutral, neutral_tab)]
        {
            let halves = [("top", upper), ("bottom", lower)];
            self.duplex_side(conductor, halves, *tab != Some(TabForm::Broken), at, fittings);
        }
        let mut ground = at.tap("ground", "ground", "ground");
        ground.optional = true;
        fittings.taps.push(ground);
        for half in ["top", "bottom"] {
            let node = |slot: &str| Address::from(format!("{}.{half}.{slot}", at.id));
            fittings.outlets.push(Outlet {
                address: Address::from(format!("{}.{half}", at.id)),
                configuration: configuration.name.to_owned(),
                slots: vec![
                    ("hot".to_owned(), node("hot")),
                    ("neutral".to_owned(), node("neutral")),
                    ("ground".to_owned(), Address::from(format!("{}.ground", at.id))),
                ],
            });
        }
        let tab = |form: Option<TabForm>| Tab {
            intact: form != Some(TabForm::Broken),
            resistance_ohm: self.contacts.tab_ohm,
            gap_farad: self.contacts.tab_gap_farad,
        };
        let kind = DeviceKind::Duplex {
            configuration: configuration.name.to_owned(),
            hot_tab: tab(*hot_tab),
            neutral_tab: tab(*neutral_tab),
        };
        self.push_device(at.id.clone(), kind, fittings);
    }

    /// Both halves of one conductor of a duplex: one wire for both where the tab is in place.
    fn duplex_side(
        &mut self,
        conductor: &str,
        halves: [(&str, &Option<Text>); 2],
        intact: bool,
        at: &At<'_>,
        fittings: &mut Fittings,
    ) {
        let id = &at.id;
        let joint = (JointKind::Tab, Side::Here);
        let element = format!("tab:{id}.{conductor}");
        self.joint(format!("{id}.tab.{conductor}"), element, (at.place, conductor), joint);
        let names = halves.map(|(_, stated)| word(stated.as_ref(), conductor));
        if intact && names[0] != names[1] {
            let spans: Vec<Span> = halves
                .iter()
                .filter_map(|(_, text)| text.as_ref().map(|t| t.span.clone()))
                .collect();
            let span = spans.first().cloned().unwrap_or(at.span.clone());
            self.say(
                Diagnostic::error(
                    "tab-left-in",
                    format!(
                        "the halves take `{}` and `{}`, but the tab between them is in place",
                        names[0], names[1]
                    ),
                    span,
                )
                .with_expected(format!("`{conductor}_tab: Broken`"))
                .with_help("a tab left in by mistake is a fault: say it in a condition"),
            );
        }
        let wired = if intact && names[0] == names[1] { 1 } else { 2 };
        for ((half, stated), name) in halves.iter().zip(&names).take(wired) {
            let mut tap =
                at.tap(name, &format!("{half}.{conductor}"), &format!("{half}.{conductor}"));
            if let Some(stated) = stated {
                tap.span = stated.span.clone();
            }
            fittings.taps.push(tap);
        }
        for ((half, _), name) in halves.iter().zip(&names) {
            self.outlet_conductors
                .entry(format!("{id}.{half}"))
                .or_default()
                .insert(conductor.to_owned(), name.clone());
        }
    }

    fn ground_fault(&mut self, form: &DeviceForm, at: &At<'_>, fittings: &mut Fittings) {
        let DeviceForm::GroundFault {
            configuration,
            face,
            feeds,
            poles,
            milliamperes,
            arc_fault,
            amperes,
            needs_supply,
            on,
            ..
        } = form
        else {
            return;
        };
        let usual = if self.metric() { 30.0 } else { 5.0 };
        let residual = self.amount_or(milliamperes.as_ref(), usual, MILLIAMPERES) / 1e3;
        let rating = amperes.as_ref().map(|number| self.amount(number, BREAKER_AMPERES));
        let electronic = needs_supply.unwrap_or(!self.metric());
        let sensing = Sensing {
            residual_trip_ampere: Some(residual),
            grounded_neutral_ohm: electronic.then_some(GROUNDED_NEUTRAL_OHM),
            rating_ampere: rating,
            arc_fault: arc_fault.unwrap_or(false),
            needs_supply: electronic,
        };
        let poles = match poles {
            Some(stated) => self.conductor_names(stated),
            None => vec!["hot".to_owned(), "neutral".to_owned()],
        };
        if let (Some(false), Some(text)) = (face, configuration) {
            self.say(
                Diagnostic::error(
                    "no-face",
                    "a device without a face has no receptacle",
                    text.span.clone(),
                )
                .with_help("leave out `face: false`, or the configuration"),
            );
        }
        let face = face.unwrap_or(true).then_some(configuration.as_ref());
        let contacts = (poles, sensing, on.unwrap_or(true));
        self.protective(contacts, face, feeds.unwrap_or(false), at, fittings);
    }

    /// A protective device, and the receptacle in its face: the receptacle has the device's
    /// name, so that its slots have the addresses of any other; the device itself is `NAME.gf`
    /// then.
    fn protective(
        &mut self,
        (poles, sensing, closed): (Vec<String>, Sensing, bool),
        face: Option<Option<&Text>>,
        feeds: bool,
        at: &At<'_>,
        fittings: &mut Fittings,
    ) {
        let id = if face.is_some() { format!("{}.gf", at.id) } else { at.id.clone() };
        for pole in &poles {
            let mut line = at.tap(pole, pole, &format!("line.{pole}"));
            line.terminal = Address::from(format!("{id}.line.{pole}"));
            let mut load = at.tap(pole, pole, &format!("load.{pole}"));
            load.terminal = Address::from(format!("{id}.load.{pole}"));
            load.load_side = true;
            load.optional = true;
            fittings.taps.extend([line, load]);
            if feeds {
                fittings.parted.push(pole.clone());
            }
            let element = format!("switch:{id}.{pole}");
            let kind = (JointKind::SwitchContact, Side::Here);
            self.joint(format!("{id}.contact.{pole}"), element, (at.place, pole), kind);
        }
        if let Some(configuration) = face {
            let configuration = self.configuration(configuration);
            for slot in configuration.slots {
                if poles.iter().any(|pole| pole == slot) {
                    let link = format!("{}.face.{slot}", at.id);
                    let from = Address::from(format!("{id}.load.{slot}"));
                    let to = Address::from(format!("{}.{slot}", at.id));
                    let kind = (JointKind::Strap, Side::Here);
                    self.joint(link.clone(), format!("link:{link}"), (at.place, slot), kind);
                    self.link(link, from, to, self.contacts.strap_ohm);
                } else {
                    let mut tap = at.tap(slot, slot, slot);
                    tap.optional = *slot == "ground";
                    fittings.taps.push(tap);
                }
            }
            self.outlet(configuration, at, fittings, |slot| format!("{}.{slot}", at.id));
            let kind = DeviceKind::Receptacle { configuration: configuration.name.to_owned() };
            self.push_device(at.id.clone(), kind, fittings);
        }
        let kind = DeviceKind::Protective {
            poles,
            closed,
            closed_ohm: self.contacts.protective_ohm,
            gap_farad: self.contacts.switch_gap_farad,
            sensing,
        };
        fittings.protective.push(id.clone());
        self.push_device(id, kind, fittings);
    }

    /// Whether the device before in the same box is a protective one.
    fn is_behind(&mut self, behind: &Text, at: &At<'_>, fittings: &Fittings) -> bool {
        let local = format!("{}.{}", at.place, behind.value);
        let names = [behind.as_str(), local.as_str()];
        let protective = names.iter().any(|name| {
            fittings.protective.iter().any(|id| id == name || *id == format!("{name}.gf"))
        });
        if !protective {
            self.say(
                Diagnostic::error(
                    "behind-nothing",
                    format!(
                        "no ground-fault device called `{}` comes before it in this box",
                        behind.value
                    ),
                    behind.span.clone(),
                )
                .with_expected("the name of a ground-fault or arc-fault device listed before it"),
            );
        }
        protective
    }

    fn switch(
        &mut self,
        pairs: &[(String, String)],
        closed: bool,
        closed_ohm: Option<f64>,
        at: &At<'_>,
        fittings: &mut Fittings,
    ) {
        let several = pairs.len() > 1;
        for (pole, (from, to)) in pairs.iter().enumerate() {
            let (prefix, element) = if several {
                (format!("p{}.", pole + 1), format!("switch:{}.p{}", at.id, pole + 1))
            } else {
                (String::new(), format!("switch:{}", at.id))
            };
            fittings.taps.push(at.tap(from, &format!("{prefix}1"), from));
            fittings.taps.push(at.tap(to, &format!("{prefix}2"), to));
            let address = if several {
                format!("{}.contact.p{}", at.id, pole + 1)
            } else {
                format!("{}.contact", at.id)
            };
            let kind = (JointKind::SwitchContact, Side::Here);
            self.joint(address, element, (at.place, to), kind);
        }
        // At most three pairs, by the form.
        let poles = u8::try_from(pairs.len()).unwrap_or(1);
        let kind = DeviceKind::Switch {
            poles,
            closed,
            closed_ohm: closed_ohm.unwrap_or(self.contacts.switch_ohm),
            gap_farad: self.contacts.switch_gap_farad,
        };
        self.push_device(at.id.clone(), kind, fittings);
    }

    fn dimmer(&mut self, form: &DeviceForm, at: &At<'_>, fittings: &mut Fittings) {
        let DeviceForm::Dimmer { from, to, closed, series_ohms, snubber_microfarads, .. } = form
        else {
            return;
        };
        let series_ohm = self.amount_or(series_ohms.as_ref(), DIMMER_SERIES_OHM, OHMS);
        let snubber = snubber_microfarads.as_ref();
        let snubber = self.amount_or(snubber, DIMMER_SNUBBER_MICROFARAD, MICROFARADS);
        let pair = (word(from.as_ref(), "hot"), word(to.as_ref(), "switched"));
        self.switch(&[pair], closed.unwrap_or(false), Some(series_ohm), at, fittings);
        if snubber > 0.0 {
            self.out.lumped.push(Lumped {
                id: format!("{}.snubber", at.id),
                between: (
                    Address::from(format!("{}.1", at.id)),
                    Address::from(format!("{}.2", at.id)),
                ),
                kind: LumpedKind::CapacitorFarad(snubber * 1e-6),
            });
        }
    }

    fn three_way(&mut self, common: &Text, position: u8, at: &At<'_>, fittings: &mut Fittings) {
        let mut tap = at.tap(common.as_str(), "com", common.as_str());
        tap.span = common.span.clone();
        fittings.taps.push(tap);
        for (terminal, conductor) in [("t1", "traveller1"), ("t2", "traveller2")] {
            fittings.taps.push(at.tap(conductor, terminal, conductor));
            let element = format!("switch:{}.{terminal}", at.id);
            let kind = (JointKind::SwitchContact, Side::Here);
            let address = format!("{}.contact.{terminal}", at.id);
            self.joint(address, element, (at.place, conductor), kind);
        }
        let kind = DeviceKind::ThreeWay {
            position,
            closed_ohm: self.contacts.switch_ohm,
            gap_farad: self.contacts.switch_gap_farad,
        };
        self.push_device(at.id.clone(), kind, fittings);
    }

    fn four_way(&mut self, crossed: bool, at: &At<'_>, fittings: &mut Fittings) {
        for (number, conductor) in ["traveller1", "traveller2"].into_iter().enumerate() {
            let number = number + 1;
            let line = at.tap(conductor, &format!("a{number}"), &format!("a{number}"));
            let mut load = at.tap(conductor, &format!("b{number}"), &format!("b{number}"));
            load.load_side = true;
            fittings.taps.extend([line, load]);
            fittings.parted.push(conductor.to_owned());
        }
        for contact in ["a1b1", "a2b2", "a1b2", "a2b1"] {
            let address = format!("{}.contact.{contact}", at.id);
            let element = format!("switch:{}.{contact}", at.id);
            let kind = (JointKind::SwitchContact, Side::Here);
            self.joint(address, element, (at.place, "traveller1"), kind);
        }
        let kind = DeviceKind::FourWay {
            crossed,
            closed_ohm: self.contacts.switch_ohm,
            gap_farad: self.contacts.switch_gap_farad,
        };
        self.push_device(at.id.clone(), kind, fittings);
    }
}

/// UL 943 tests grounded-neutral detection with a loop of 2 ohms; devices detect 2 to 4.
const GROUNDED_NEUTRAL_OHM: f64 = 4.0;

/// A dimmer fully up drops 1 to 2 V at 1 A.
const DIMMER_SERIES_OHM: f64 = 1.5;

/// Snubbers are 0.047 to 0.1 µF.
const DIMMER_SNUBBER_MICROFARAD: f64 = 0.068;

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
