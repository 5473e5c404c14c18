//! Contact resistances that the file states in place of the defaults.

use super::Expansion;
use super::amount::{METRES, OHMS, PICOFARADS};

const PICO: f64 = 1e-12;

impl Expansion<'_> {
    pub(super) fn contacts(&mut self) {
        let Some(form) = self.form.defaults.as_ref().and_then(|d| d.contacts.as_ref()) else {
            return;
        };
        let standard = self.contacts;
        let mut ohms =
            |number: &Option<_>, otherwise| self.amount_or(number.as_ref(), otherwise, OHMS);
        let mut contacts = standard;
        contacts.splice_ohm = ohms(&form.splice_ohms, standard.splice_ohm);
        contacts.screw_ohm = ohms(&form.screw_ohms, standard.screw_ohm);
        contacts.push_in_ohm = ohms(&form.push_in_ohms, standard.push_in_ohm);
        contacts.bar_ohm = ohms(&form.bar_ohms, standard.bar_ohm);
        contacts.strap_ohm = ohms(&form.strap_ohms, standard.strap_ohm);
        contacts.tab_ohm = ohms(&form.tab_ohms, standard.tab_ohm);
        contacts.slot_ohm = ohms(&form.slot_ohms, standard.slot_ohm);
        contacts.breaker_ohm = ohms(&form.breaker_ohms, standard.breaker_ohm);
        contacts.switch_ohm = ohms(&form.switch_ohms, standard.switch_ohm);
        contacts.protective_ohm = ohms(&form.protective_ohms, standard.protective_ohm);
        contacts.bond_ohm = ohms(&form.bond_ohms, standard.bond_ohm);
        let pigtail = form.pigtail_metres.as_ref();
        contacts.pigtail_m = self.amount_or(pigtail, standard.pigtail_m, METRES);
        let gap = form.switch_gap_picofarads.as_ref();
        contacts.switch_gap_farad =
            self.amount_or(gap, standard.switch_gap_farad / PICO, PICOFARADS) * PICO;
        let gap = form.tab_gap_picofarads.as_ref();
        contacts.tab_gap_farad =
            self.amount_or(gap, standard.tab_gap_farad / PICO, PICOFARADS) * PICO;
        self.contacts = contacts;
    }
}
