//! Where an instrument is held.

use serde::Serialize;

use crate::quantity::Address;

/// Where an instrument is held or plugged in.
///
/// ```
/// use slotwise::instrument::Place;
/// let receptacle = Place::receptacle("kiln");
/// let across = Place::between("kiln.hot", "earth");
/// assert_ne!(receptacle, across);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Place {
    /// Plugged into a receptacle of the circuit, or probes in its slots.
    Receptacle {
        /// Address of the outlet, as `kiln` or `kiln.top`.
        address: Address,
        /// Turned round, hot blade in the neutral slot, where the receptacle allows that.
        turned: bool,
    },
    /// Contacts of a plug on terminals named one by one.
    Slots {
        /// Each slot with the terminal it is.
        slots: Vec<Slot>,
    },
    /// Two probes.
    Between {
        /// Where the first probe is held; the reading is the first minus the second.
        from: Address,
        /// Where the second is held; `earth` is a separate earth reference.
        to: Address,
    },
    /// Near one terminal.
    Near {
        /// The terminal.
        terminal: Address,
        /// Metal raceway or enclosure around it, which the instrument sees in its place.
        behind: Option<Address>,
    },
    /// Over a cable.
    Cable {
        /// The conductors near enough to matter.
        near: Vec<Coupled>,
    },
    /// A jaw around conductors.
    Around {
        /// Elements in the jaw with the direction they pass through it.
        conductors: Vec<Through>,
    },
    /// At a ground-fault device of the circuit.
    Device {
        /// Its name.
        device: String,
    },
}

/// A slot and the terminal it is.
///
/// ```
/// use slotwise::instrument::Slot;
/// let slot = Slot { name: "hot".into(), terminal: "kiln.hot".into() };
/// assert_eq!(slot.name, "hot");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Slot {
    /// `hot`, `hot2`, `hot3`, `neutral`, `ground`.
    pub name: String,
    /// The terminal.
    pub terminal: Address,
}

/// A conductor seen through a capacitance.
///
/// ```
/// use slotwise::instrument::Coupled;
/// let nearest = Coupled { terminal: "shed-mill.b.hot".into(), capacitance_farad: 1.1e-12 };
/// assert!(nearest.capacitance_farad > 0.0);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Coupled {
    /// A terminal on the conductor.
    pub terminal: Address,
    /// Capacitance to the probe, farads.
    pub capacitance_farad: f64,
}

/// An element that passes through a jaw.
///
/// ```
/// use slotwise::instrument::Through;
/// let hot = Through { element: "wire:shed-mill.hot".into(), sign: 1.0 };
/// assert!(hot.sign > 0.0);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Through {
    /// The element, as `wire:shed-mill.hot`.
    pub element: String,
    /// +1 where its current from `a` to `b` counts positive, -1 where it counts negative.
    pub sign: f64,
}

impl Place {
    /// Plugged into a receptacle the usual way round.
    pub fn receptacle(address: impl Into<Address>) -> Self {
        Self::Receptacle { address: address.into(), turned: false }
    }

    /// Two probes.
    pub fn between(from: impl Into<Address>, to: impl Into<Address>) -> Self {
        Self::Between { from: from.into(), to: to.into() }
    }

    /// Slots given as name and terminal.
    pub fn slots<const N: usize>(slots: [(&str, &str); N]) -> Self {
        let slot = |(name, terminal): (&str, &str)| Slot {
            name: name.to_owned(),
            terminal: Address::from(terminal),
        };
        Self::Slots { slots: slots.map(slot).to_vec() }
    }

    /// Near a terminal with nothing in between.
    pub fn near(terminal: impl Into<Address>) -> Self {
        Self::Near { terminal: terminal.into(), behind: None }
    }

    /// What the place is, for messages.
    pub(super) const fn in_words(&self) -> &'static str {
        match self {
            Self::Receptacle { .. } => "a receptacle",
            Self::Slots { .. } => "slots",
            Self::Between { .. } => "two terminals",
            Self::Near { .. } => "one terminal",
            Self::Cable { .. } => "a cable",
            Self::Around { .. } => "a jaw around conductors",
            Self::Device { .. } => "a ground-fault device",
        }
    }
}
