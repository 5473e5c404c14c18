//! Devices in a box.

use serde::Deserialize;

use super::{Flag, Number, Text};
use crate::circuit::file::placed::Placed;

/// A device. Its terminals connect to the box's conductors of the names given.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum DeviceForm {
    /// A receptacle whose halves, if it has two, are joined.
    Receptacle {
        /// Its name; that of the box for the first.
        id: Option<Text>,
        /// Standard receptacle, as "NEMA 5-15".
        configuration: Option<Text>,
        /// The conductor its hot slot connects to; the first hot one of the box unless stated.
        hot: Option<Text>,
        /// The conductor its neutral slot connects to; "neutral" unless stated.
        neutral: Option<Text>,
        /// The ground-fault device of the same box whose load side feeds it.
        behind: Option<Text>,
    },
    /// A duplex whose halves are wired by themselves.
    Duplex {
        /// Its name; that of the box for the first.
        id: Option<Text>,
        /// Standard receptacle, as "NEMA 5-15".
        configuration: Option<Text>,
        /// The conductor its upper hot slot connects to; "hot" unless stated.
        top: Option<Text>,
        /// The conductor its lower hot slot connects to; "hot" unless stated.
        bottom: Option<Text>,
        /// The conductor its upper neutral slot connects to; "neutral" unless stated.
        top_neutral: Option<Text>,
        /// The conductor its lower neutral slot connects to; "neutral" unless stated.
        bottom_neutral: Option<Text>,
        /// The tab between the hot halves.
        hot_tab: Option<TabForm>,
        /// The tab between the neutral halves.
        neutral_tab: Option<TabForm>,
    },
    /// A ground-fault device.
    GroundFault {
        /// Its name; that of the box for the first.
        id: Option<Text>,
        /// Standard receptacle in its face, as "NEMA 5-15"; none if `face` is false.
        configuration: Option<Text>,
        /// Whether it has slots; true unless stated.
        face: Option<bool>,
        /// Whether the cables that leave the box are on its load side.
        feeds: Option<bool>,
        /// The poles it opens; hot and neutral unless stated.
        poles: Option<Vec<Text>>,
        /// Residual current that trips it, milliamperes.
        milliamperes: Option<Number>,
        /// Whether it waits for the devices after it (type S); false unless stated.
        delayed: Option<Flag>,
        /// Whether it senses arcs too.
        arc_fault: Option<bool>,
        /// Rating, amperes, if it trips on overcurrent.
        amperes: Option<Number>,
        /// Whether it works without supply: voltage-independent residual-current devices do.
        needs_supply: Option<bool>,
        /// Contacts closed as found; true unless stated.
        on: Option<bool>,
    },
    /// An arc-fault device without residual sensing.
    ArcFault {
        /// Its name; that of the box for the first.
        id: Option<Text>,
        /// Standard receptacle in its face, as "NEMA 5-15"; none if `face` is false.
        configuration: Option<Text>,
        /// Whether it has slots; true unless stated.
        face: Option<bool>,
        /// Whether the cables that leave the box are on its load side.
        feeds: Option<bool>,
        /// Contacts closed as found; true unless stated.
        on: Option<bool>,
    },
    /// A switch.
    Switch {
        /// Its name; that of the box for the first.
        id: Option<Text>,
        /// The conductor it takes; "hot" unless stated.
        from: Option<Text>,
        /// The conductor it gives; "switched" unless stated.
        to: Option<Text>,
        /// A second pole: the conductors it takes and gives.
        second: Option<(Text, Text)>,
        /// A third pole: the conductors it takes and gives.
        third: Option<(Text, Text)>,
        /// Closed as found; false unless stated.
        closed: Option<bool>,
    },
    /// A three-way (two-way) switch.
    ThreeWay {
        /// Its name; that of the box for the first.
        id: Option<Text>,
        /// The conductor of its common terminal, "hot" or "switched".
        common: Text,
        /// Which traveller the common is on as found, 1 or 2; 1 unless stated.
        position: Option<Placed<u8>>,
    },
    /// A four-way (intermediate) switch between arriving and leaving travellers.
    FourWay {
        /// Its name; that of the box for the first.
        id: Option<Text>,
        /// Crossed as found; false unless stated.
        crossed: Option<bool>,
    },
    /// A dimmer: a switch with a series resistance and a snubber that stays across it.
    Dimmer {
        /// Its name; that of the box for the first.
        id: Option<Text>,
        /// The conductor it takes; "hot" unless stated.
        from: Option<Text>,
        /// The conductor it gives; "switched" unless stated.
        to: Option<Text>,
        /// On as found; false unless stated.
        closed: Option<bool>,
        /// Series resistance when on, ohms.
        series_ohms: Option<Number>,
        /// Capacitor across it, microfarads; 0 for none.
        snubber_microfarads: Option<Number>,
    },
}

/// A tab of a duplex.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub(crate) enum TabForm {
    /// In place.
    Intact,
    /// Broken out.
    Broken,
}
