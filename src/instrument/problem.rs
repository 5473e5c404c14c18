//! Why nothing could be measured.

use crate::circuit::UnknownName;
use crate::netlist::{Netlist, NetlistError, WireProblem};
use crate::network::Refusal;
use crate::quantity::Address;

/// Why a measurement could not be made at all.
///
/// ```
/// use slotwise::instrument::{measure_netlist, presets, MeasureProblem, Place, Request};
/// use slotwise::netlist::{Netlist, Role, Law};
/// use slotwise::quantity::Address;
/// let mut netlist = Netlist::new(60.0);
/// let hot = netlist.node(&Address::from("kiln.hot"));
/// netlist.add("rod", hot, Netlist::EARTH, Role::Electrode, Law::resistance(25.0)).unwrap();
/// let request =
///     Request::new(presets::voltmeter_high_impedance(), Place::between("kiln.hto", "earth"));
/// let problem = measure_netlist(&netlist, &[request]).unwrap_err();
/// assert!(problem.to_string().contains("kiln.hot"));
/// ```
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MeasureProblem {
    /// Circuit and condition do not go together.
    #[error(transparent)]
    Wire(#[from] WireProblem),
    /// The network has no answer.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// There is no terminal, element, receptacle or device of that name.
    #[error("{0}")]
    Unknown(UnknownName),
    /// The instrument is not used that way.
    #[error("{instrument}: {what}")]
    NotThere {
        /// The instrument's name.
        instrument: String,
        /// What it needs.
        what: String,
    },
    /// A figure of the instrument is none that an instrument can have.
    #[error("{instrument}: {what}")]
    BadInstrument {
        /// The instrument's name.
        instrument: String,
        /// What is wrong with it.
        what: String,
    },
    /// A change is asked for that is not on the list.
    #[error("there is no change {change}: the list has {n_changes}")]
    NoSuchChange {
        /// Its number.
        change: usize,
        /// How many there are.
        n_changes: usize,
    },
    /// A stated range holds a value that the circuit cannot have.
    #[error("a stated range holds a value that the circuit cannot have: {what}")]
    BadRange {
        /// What the circuit says to it.
        what: String,
    },
}

impl MeasureProblem {
    pub(super) fn unknown_terminal(netlist: &Netlist, address: &Address) -> Self {
        let known = netlist.nodes().map(|node| netlist.address(node).as_str());
        Self::Unknown(UnknownName::among(address.as_str(), "a terminal", known))
    }

    pub(super) fn unknown_element(netlist: &Netlist, id: &str) -> Self {
        let known = netlist.elements().map(|element| netlist.element(element).id.as_str());
        Self::Unknown(UnknownName::among(id, "an element", known))
    }
}

impl From<NetlistError> for MeasureProblem {
    fn from(error: NetlistError) -> Self {
        Self::BadInstrument { instrument: "instrument".to_owned(), what: error.to_string() }
    }
}
