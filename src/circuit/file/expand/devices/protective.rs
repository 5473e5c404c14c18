//! Ground-fault and arc-fault devices.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{DeviceForm, Flag, Text};
use crate::circuit::{DeviceKind, JointKind, Sensing, Side};
use crate::quantity::Address;

use super::{At, Fittings};
use crate::circuit::file::expand::Expansion;
use crate::circuit::file::expand::amount::{BREAKER_AMPERES, MILLIAMPERES};

/// UL 943 tests grounded-neutral detection with a loop of 2 ohms; devices detect 2 to 4.
const GROUNDED_NEUTRAL_OHM: f64 = 4.0;

/// Type S is made for rated residual currents above 30 mA (IEC 61008-1, 4.12).
const DELAYED_ABOVE_AMPERE: f64 = 0.030;

impl Expansion<'_> {
    pub(super) fn ground_fault(&mut self, form: &DeviceForm, at: &At<'_>, fittings: &mut Fittings) {
        let DeviceForm::GroundFault {
            configuration,
            face,
            feeds,
            poles,
            milliamperes,
            delayed,
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
        let delayed = self.delayed(delayed.as_ref(), residual);
        let rating = amperes.as_ref().map(|number| self.amount(number, BREAKER_AMPERES));
        let electronic = needs_supply.unwrap_or(!self.metric());
        let sensing = Sensing {
            residual_trip_ampere: Some(residual),
            delayed,
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

    /// Whether a device is delayed, which none of the additional protection is.
    pub(in crate::circuit::file::expand) fn delayed(
        &mut self,
        stated: Option<&Flag>,
        residual_ampere: f64,
    ) -> bool {
        let Some(flag) = stated.filter(|flag| flag.value) else { return false };
        if residual_ampere <= DELAYED_ABOVE_AMPERE {
            self.say(
                Diagnostic::error(
                    "delayed-too-fine",
                    format!("no delayed device is rated {} mA", residual_ampere * 1e3),
                    flag.span.clone(),
                )
                .with_expected("a residual current above 30 mA, as 100 or 300")
                .with_help("a device that protects people directly must not wait"),
            );
        }
        true
    }

    /// A protective device, and the receptacle in its face: the receptacle has the device's
    /// name, so that its slots have the addresses of any other; the device itself is `NAME.gf`
    /// then.
    pub(super) fn protective(
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
    pub(super) fn is_behind(&mut self, behind: &Text, at: &At<'_>, fittings: &Fittings) -> bool {
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
}
