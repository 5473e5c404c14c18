//! What was complained of, before anyone measured.

use serde::Serialize;

/// A complaint in the trade's words, as data. Places are boxes or receptacles by name.
///
/// ```
/// use slotwise::diagnosis::{Complaint, WhenItTrips};
/// let trips = Complaint::Trips {
///     breaker: "c1".into(),
///     when: WhenItTrips::WithLoad { load: "heater".into() },
/// };
/// assert_ne!(trips, Complaint::NothingSeen);
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Complaint {
    /// Dead from this place on, away from the supply; the places before it are not.
    DeadFrom {
        /// The first dead place.
        place: String,
    },
    /// These places are dead. Nothing is said of the others.
    Dead {
        /// The places.
        places: Vec<String>,
    },
    /// Nothing works on a whole branch circuit.
    AllDead {
        /// The branch circuit.
        circuit: String,
    },
    /// Half of the house is dead and the other half is not: what is on one leg.
    HalfTheHouse,
    /// One half of a duplex is dead and the other is not.
    HalfDead {
        /// The duplex, or the box it is in.
        place: String,
    },
    /// These loads work poorly, dim or slow, all the time or when another load runs.
    Dim {
        /// The loads; empty for whatever burns, on the list of loads or not.
        loads: Vec<String>,
        /// Without loads, where it is so: what is plugged in at each of these places works poorly.
        /// Empty for wherever it is.
        places: Vec<String>,
        /// The load that makes it so when it runs.
        when: Option<String>,
    },
    /// These loads burn brighter, or run faster, all the time or when another load runs.
    Bright {
        /// The loads; empty for whatever burns, on the list of loads or not.
        loads: Vec<String>,
        /// Without loads, where it is so, as in [`Dim`](Self::Dim).
        places: Vec<String>,
        /// The load that makes it so when it runs.
        when: Option<String>,
    },
    /// Lights flicker, or things cut out and come back.
    Flickers {
        /// The loads; empty for whatever burns.
        loads: Vec<String>,
    },
    /// A load does not run, although others do.
    LoadDead {
        /// The load.
        load: String,
    },
    /// A load runs however its switches stand.
    StaysOn {
        /// The load.
        load: String,
    },
    /// A breaker or a protective device trips.
    Trips {
        /// The branch circuit or the device.
        breaker: String,
        /// When.
        when: WhenItTrips,
    },
    /// A breaker or a protective device does not reset.
    WontReset {
        /// The branch circuit or the device.
        breaker: String,
    },
    /// Someone felt a tingle or a shock from metal: a load's case, a cover plate, a pipe.
    Tingle {
        /// The load whose case it is, or the place.
        from: String,
    },
    /// A cover plate or a device is warm, or smells.
    Warm {
        /// The place.
        place: String,
    },
    /// What is at these places works.
    Works {
        /// The places; empty for every one of which no complaint says anything else.
        places: Vec<String>,
    },
    /// Somebody worked there before it began: exchanged a device, or made its joints anew.
    WorkedOn {
        /// The place.
        place: String,
    },
    /// Nothing was noticed: the wiring is being checked.
    NothingSeen,
}

impl Complaint {
    /// Whether it says of something that it was not always so. A shock or what is warm may be felt
    /// for the first time long after.
    pub(super) const fn is_of_a_change(&self) -> bool {
        !matches!(
            self,
            Self::Tingle { .. }
                | Self::Warm { .. }
                | Self::Works { .. }
                | Self::WorkedOn { .. }
                | Self::NothingSeen
        )
    }

    /// Whether it says that something is not as it should be.
    pub(super) const fn is_of_something_wrong(&self) -> bool {
        !matches!(self, Self::Works { .. } | Self::WorkedOn { .. } | Self::NothingSeen)
    }
}

/// When a breaker trips.
///
/// ```
/// use slotwise::diagnosis::WhenItTrips;
/// assert_ne!(WhenItTrips::AtOnce, WhenItTrips::AfterAWhile);
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WhenItTrips {
    /// As soon as it is closed.
    AtOnce,
    /// As soon as a load is switched on.
    WithLoad {
        /// The load.
        load: String,
    },
    /// After minutes.
    AfterAWhile,
    /// Now and then.
    NowAndThen,
}
