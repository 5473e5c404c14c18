//! Places a person can walk to, and joints a person can point at.

use crate::quantity::Address;

/// A box, panel or other place with a name.
///
/// ```
/// use slotwise::circuit::{Place, PlaceKind};
/// let kiln = Place {
///     id: "kiln".into(),
///     kind: PlaceKind::Box,
///     fed_from: Some("door".into()),
///     line_cables: vec!["door-kiln".into()],
///     load_cables: vec![],
///     devices: vec![],
///     outlets: vec![],
/// };
/// assert!(kiln.load_cables.is_empty(), "the run ends here");
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Its name.
    pub id: String,
    /// What it is.
    pub kind: PlaceKind,
    /// The place it is fed from, if any.
    pub fed_from: Option<String>,
    /// The cables that arrive (their b end is here), by name.
    pub line_cables: Vec<String>,
    /// The cables that leave (their a end is here), by name.
    pub load_cables: Vec<String>,
    /// The devices in it, by name.
    pub devices: Vec<String>,
    /// Sets of contacts a plug goes into here.
    pub outlets: Vec<Outlet>,
}

/// Kinds of place.
///
/// ```
/// use slotwise::circuit::PlaceKind;
/// assert_ne!(PlaceKind::Box, PlaceKind::Panel);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum PlaceKind {
    /// A panel or subpanel.
    Panel,
    /// A box.
    Box,
    /// A transformer, generator or meter.
    Supply,
}

/// One set of contacts that a plug goes into.
///
/// ```
/// use slotwise::circuit::Outlet;
/// let outlet = Outlet {
///     address: "kiln".into(),
///     configuration: "NEMA 5-15".into(),
///     slots: vec![
///         ("hot".into(), "kiln.hot".into()),
///         ("neutral".into(), "kiln.neutral".into()),
///         ("ground".into(), "kiln.ground".into()),
///     ],
/// };
/// assert_eq!(outlet.slots.len(), 3);
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outlet {
    /// Its address: the device's, or `DEVICE.top`, `DEVICE.bottom`.
    pub address: Address,
    /// Standard configuration, as `NEMA 5-15`.
    pub configuration: String,
    /// Slots: conductor name (`hot`, `neutral`, `ground`, `hot2`) and the node it is.
    pub slots: Vec<(String, Address)>,
}

/// A joint a person can point at.
///
/// ```
/// use slotwise::circuit::{Joint, JointKind, Side};
/// let joint = Joint {
///     address: "kiln.line.neutral".into(),
///     element: "contact:door-kiln.b.neutral".into(),
///     place: "kiln".into(),
///     conductor: "neutral".into(),
///     kind: JointKind::Splice,
///     side: Side::Line,
/// };
/// assert_eq!(joint.side, Side::Line);
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Joint {
    /// Its address, as `kiln.line.neutral`.
    pub address: Address,
    /// The netlist element that it is, as `contact:door-kiln.b.neutral`.
    pub element: String,
    /// The place it is in.
    pub place: String,
    /// The conductor it belongs to.
    pub conductor: String,
    /// What kind of joint it is.
    pub kind: JointKind,
    /// On which side of its box it lies.
    pub side: Side,
}

/// Kinds of joint.
///
/// ```
/// use slotwise::circuit::JointKind;
/// assert_ne!(JointKind::Screw, JointKind::PushIn);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum JointKind {
    /// A wire connector or other splice.
    Splice,
    /// A terminal screw.
    Screw,
    /// A push-in terminal.
    PushIn,
    /// A pigtail with its splice.
    Pigtail,
    /// The strap of a device that current passes through.
    Strap,
    /// The tab between the halves of a duplex.
    Tab,
    /// A contact that a plug's blade makes.
    SlotContact,
    /// A breaker pole with its stab.
    Breaker,
    /// A screw of a neutral or ground bar.
    Bar,
    /// A bond.
    Bond,
    /// A clamp on an electrode.
    ElectrodeClamp,
    /// A service connection.
    Service,
    /// A contact of a switch or protective device.
    SwitchContact,
}

/// Sides of a box.
///
/// ```
/// use slotwise::circuit::Side;
/// assert_ne!(Side::Line, Side::Load);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Towards the supply.
    Line,
    /// Away from the supply.
    Load,
    /// Neither: in the box or the device itself.
    Here,
}
