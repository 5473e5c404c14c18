//! Switches of every kind, and dimmers.

use crate::circuit::file::form::{DeviceForm, Text};
use crate::circuit::{DeviceKind, JointKind, Lumped, LumpedKind, Side};
use crate::quantity::Address;

use super::{At, Fittings, word};
use crate::circuit::file::expand::Expansion;
use crate::circuit::file::expand::amount::{MICROFARADS, OHMS};

/// A dimmer fully up drops 1 to 2 V at 1 A.
const DIMMER_SERIES_OHM: f64 = 1.5;

/// Snubbers are 0.047 to 0.1 µF.
const DIMMER_SNUBBER_MICROFARAD: f64 = 0.068;

impl Expansion<'_> {
    pub(super) fn switch(
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

    pub(super) fn dimmer(&mut self, form: &DeviceForm, at: &At<'_>, fittings: &mut Fittings) {
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

    pub(super) fn three_way(
        &mut self,
        common: &Text,
        position: u8,
        at: &At<'_>,
        fittings: &mut Fittings,
    ) {
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

    pub(super) fn four_way(&mut self, crossed: bool, at: &At<'_>, fittings: &mut Fittings) {
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
