//! Receptacles, switches and protective devices with their terminals.

/// A device; its terminals are addresses that begin with its name.
///
/// ```
/// use slotwise::circuit::{Device, DeviceKind};
/// let kiln = Device {
///     id: "kiln".into(),
///     kind: DeviceKind::Receptacle { configuration: "NEMA 5-20".into() },
/// };
/// assert_eq!(kiln.id, "kiln");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Device {
    /// Its name D.
    pub id: String,
    /// What it is.
    pub kind: DeviceKind,
}

/// Kinds of device. Terminal names are given with D for the device's name.
///
/// Open contacts couple through `gap_farad`, if it is above zero: elements
/// `switchgap:...` and `tabgap:...`.
///
/// ```
/// use slotwise::circuit::DeviceKind;
/// // A stair lamp's upper switch, standing on traveller 2.
/// let top = DeviceKind::ThreeWay { position: 2, closed_ohm: 0.006, gap_farad: 2e-12 };
/// assert!(matches!(top, DeviceKind::ThreeWay { position: 2, .. }));
/// ```
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum DeviceKind {
    /// One set of contacts: `D.hot`, `D.neutral`, `D.ground` and what else its configuration
    /// has. It holds no element of its own.
    Receptacle {
        /// Standard configuration, as `NEMA 5-15` or `BS 1363`.
        configuration: String,
    },
    /// Two sets of contacts `D.top.hot`, `D.bottom.hot`, `D.top.neutral`, `D.bottom.neutral`,
    /// with one `D.ground`, joined by tabs `tab:D.hot` and `tab:D.neutral` (top to bottom).
    Duplex {
        /// Standard configuration, as `NEMA 5-15`.
        configuration: String,
        /// Tab between the hot halves.
        hot_tab: Tab,
        /// Tab between the neutral halves.
        neutral_tab: Tab,
    },
    /// A switch or isolator of `poles` poles. One pole: `switch:D` between `D.1` and `D.2`;
    /// more: `switch:D.p1` between `D.p1.1` and `D.p1.2`, and so on.
    Switch {
        /// Number of poles, at least one.
        poles: u8,
        /// Closed as installed.
        closed: bool,
        /// Resistance of a closed contact, ohms.
        closed_ohm: f64,
        /// Capacitance across an open contact, farads.
        gap_farad: f64,
    },
    /// A three-way (two-way) switch: `D.com` to `D.t1` (position 1) or `D.t2` (position 2);
    /// elements `switch:D.t1`, `switch:D.t2`.
    ThreeWay {
        /// Position as installed, 1 or 2.
        position: u8,
        /// Resistance of a closed contact, ohms.
        closed_ohm: f64,
        /// Capacitance across an open contact, farads.
        gap_farad: f64,
    },
    /// A four-way (intermediate) switch: straight joins a1-b1 and a2-b2, crossed a1-b2 and
    /// a2-b1; elements `switch:D.a1b1` and so on.
    FourWay {
        /// Crossed as installed.
        crossed: bool,
        /// Resistance of a closed contact, ohms.
        closed_ohm: f64,
        /// Capacitance across an open contact, farads.
        gap_farad: f64,
    },
    /// A ground-fault or arc-fault device: `switch:D.P` from `D.line.P` to `D.load.P` for
    /// each pole P. Its ground terminal `D.ground` passes through untouched.
    Protective {
        /// Names of its poles, as `hot` and `neutral`.
        poles: Vec<String>,
        /// Contacts closed as installed.
        closed: bool,
        /// Resistance of a closed contact, ohms.
        closed_ohm: f64,
        /// Capacitance across an open contact, farads.
        gap_farad: f64,
        /// What it senses.
        sensing: Sensing,
    },
}

impl DeviceKind {
    /// Whether it is a protective device that senses residual currents.
    pub(crate) fn senses_residual(&self) -> bool {
        matches!(self, Self::Protective { sensing, .. } if sensing.residual_trip_ampere.is_some())
    }
}

/// A tab between the halves of a duplex.
///
/// ```
/// use slotwise::circuit::Tab;
/// let broken_out = Tab { intact: false, resistance_ohm: 0.0002, gap_farad: 1e-12 };
/// assert!(!broken_out.intact);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tab {
    /// In place; a broken tab is open.
    pub intact: bool,
    /// Resistance when in place, ohms.
    pub resistance_ohm: f64,
    /// Capacitance across a broken tab, farads.
    pub gap_farad: f64,
}

/// What a protective device senses.
///
/// ```
/// use slotwise::circuit::Sensing;
/// let ground_fault_receptacle = Sensing {
///     residual_trip_ampere: Some(0.005),
///     delayed: false,
///     grounded_neutral_ohm: Some(2.0),
///     rating_ampere: None,
///     arc_fault: false,
///     needs_supply: true,
/// };
/// assert_eq!(ground_fault_receptacle.rating_ampere, None);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensing {
    /// Residual current that trips it, amperes; `None` for a device without residual sensing.
    pub residual_trip_ampere: Option<f64>,
    /// It waits for the devices after it (type S of IEC 61008-1).
    pub delayed: bool,
    /// Loop resistance of a load-side neutral-to-ground fault below which it trips without
    /// load, ohms; `None` for a device without grounded-neutral detection.
    pub grounded_neutral_ohm: Option<f64>,
    /// Overcurrent rating, amperes, if it trips on overcurrent.
    pub rating_ampere: Option<f64>,
    /// It claims to sense arcs, which are not modelled.
    pub arc_fault: bool,
    /// Its electronics need voltage between line-side hot and neutral.
    pub needs_supply: bool,
}
