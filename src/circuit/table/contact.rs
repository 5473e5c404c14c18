//! Contact resistances of sound joints, and capacitance across open contacts.

/// Resistances of sound joints, ohms, and capacitances across open contacts, farads.
///
/// ```
/// use slotwise::circuit::table::Contacts;
/// let contacts = Contacts::default();
/// assert!(contacts.splice_ohm < contacts.push_in_ohm);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contacts {
    /// One wire in a splice.
    pub splice_ohm: f64,
    /// A terminal screw.
    pub screw_ohm: f64,
    /// A push-in terminal.
    pub push_in_ohm: f64,
    /// A screw of a neutral or ground bar.
    pub bar_ohm: f64,
    /// The strap of a device between its two screws.
    pub strap_ohm: f64,
    /// The tab between the halves of a duplex.
    pub tab_ohm: f64,
    /// A plug's blade in a slot.
    pub slot_ohm: f64,
    /// A breaker pole with its stab.
    pub breaker_ohm: f64,
    /// A closed switch contact.
    pub switch_ohm: f64,
    /// A closed pole of a ground-fault device.
    pub protective_ohm: f64,
    /// A bond.
    pub bond_ohm: f64,
    /// Length of a pigtail, metres, of the wire size of its cable.
    pub pigtail_m: f64,
    /// Across an open switch contact.
    pub switch_gap_farad: f64,
    /// Across a broken tab.
    pub tab_gap_farad: f64,
}

/// Within the ranges measured in the field: screw, splice 0.1..1 mΩ; push-in 0.5..3 mΩ; blade
/// 1..5 mΩ; breaker pole 3..10 mΩ; main bond 0.1..1 mΩ. Straps and tabs are a few square
/// millimetres of brass a centimetre long. Gaps: parallel plates of 0.3 cm² 1 mm apart, and
/// a tab's edges.
impl Default for Contacts {
    fn default() -> Self {
        Self {
            splice_ohm: 0.5e-3,
            screw_ohm: 0.5e-3,
            push_in_ohm: 1.5e-3,
            bar_ohm: 0.5e-3,
            strap_ohm: 0.2e-3,
            tab_ohm: 0.2e-3,
            slot_ohm: 2e-3,
            breaker_ohm: 5e-3,
            switch_ohm: 5e-3,
            protective_ohm: 3e-3,
            bond_ohm: 0.5e-3,
            pigtail_m: 0.15,
            switch_gap_farad: 2e-12,
            tab_gap_farad: 0.8e-12,
        }
    }
}
