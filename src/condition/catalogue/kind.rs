//! What can be physically wrong.

/// Kinds of entries of the catalogue, by what is physically wrong and not by what it looks like.
///
/// ```
/// use slotwise::condition::catalogue::FaultKind;
/// assert_eq!(FaultKind::OpenJoint.code(), "open_joint");
/// assert!(FaultKind::all().iter().any(|kind| *kind == FaultKind::ServiceLost));
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum FaultKind {
    /// A breaker is off, or has tripped.
    BreakerOff,
    /// A ground-fault or arc-fault device has tripped.
    DeviceTripped,
    /// A switch stands in its other position.
    SwitchOther,
    /// A joint is open.
    OpenJoint,
    /// A joint is open and current leaks across the gap.
    LeakyOpen,
    /// A joint has a resistance that it should not have.
    BadJoint,
    /// A conductor is broken inside a cable.
    BrokenConductor,
    /// A conductor of the service or of the supply is lost.
    ServiceLost,
    /// A conductor of the service or of the supply has a bad joint.
    ServiceBad,
    /// The bond between neutral and ground, or between metal parts, is missing.
    BondMissing,
    /// The bond has a resistance that it should not have.
    BondBad,
    /// An earth electrode is lost.
    ElectrodeLost,
    /// Two conductors are exchanged at a device.
    ExchangedAtDevice,
    /// Two conductors are exchanged where a cable ends, and so everywhere past it.
    ExchangedAtCableEnd,
    /// Two conductors are bridged in a box or a device.
    Bridged,
    /// Two conductors touch inside a cable.
    TouchingInCable,
    /// The insulation of an appliance has broken down to its case.
    InsulationDown,
    /// The insulation of an appliance lets current to its case behind its own switch, and so only
    /// once it is on. Locating alone thinks of it: the catalogue's conditions switch nothing.
    LeaksOnceOn,
    /// An appliance is shorted inside, or in its cord. Locating alone thinks of it.
    ShortInside,
    /// A ground-fault or other protective device is worn out: it lets go with no reason and does not
    /// reset. Locating alone thinks of it.
    DeviceWornOut,
    /// A contact of a switch stays closed, however the switch stands. Locating alone thinks of it.
    SwitchStuck,
    /// A tab between the halves of a duplex is broken out that should be there.
    TabBroken,
    /// A tab between the halves of a duplex is in place that should be broken out.
    TabLeftIn,
    /// Line and load sides of a protective device are exchanged.
    LineLoadExchanged,
    /// A breaker sits on the wrong bus.
    WrongBus,
    /// The hot of a circuit lands on the breaker of another, and its own breaker feeds nothing.
    WrongBreaker,
    /// The hots of two circuits are exchanged: each breaker feeds the other's.
    HotsExchanged,
    /// The hots of two circuits are tied together away from the panel.
    HotsTied,
    /// The neutral of a circuit lands on a hot bus, or on a breaker there.
    NeutralOnBus,
    /// The neutrals of two circuits are exchanged.
    NeutralsExchanged,
    /// The neutrals of two circuits are tied together away from the panel.
    NeutralsTied,
    /// The supply delivers another voltage.
    SupplyVoltage,
}

impl FaultKind {
    /// Every kind that the catalogue lists, in its order.
    pub const fn all() -> &'static [Self] {
        &[
            Self::BreakerOff,
            Self::DeviceTripped,
            Self::SwitchOther,
            Self::OpenJoint,
            Self::LeakyOpen,
            Self::BadJoint,
            Self::BrokenConductor,
            Self::ServiceLost,
            Self::ServiceBad,
            Self::BondMissing,
            Self::BondBad,
            Self::ElectrodeLost,
            Self::ExchangedAtDevice,
            Self::ExchangedAtCableEnd,
            Self::Bridged,
            Self::TouchingInCable,
            Self::InsulationDown,
            Self::TabBroken,
            Self::TabLeftIn,
            Self::LineLoadExchanged,
            Self::WrongBus,
            Self::WrongBreaker,
            Self::HotsExchanged,
            Self::HotsTied,
            Self::NeutralOnBus,
            Self::NeutralsExchanged,
            Self::NeutralsTied,
            Self::SupplyVoltage,
        ]
    }

    /// Its name in the JSON forms.
    pub const fn code(self) -> &'static str {
        match self {
            Self::BreakerOff => "breaker_off",
            Self::DeviceTripped => "device_tripped",
            Self::SwitchOther => "switch_other",
            Self::OpenJoint => "open_joint",
            Self::LeakyOpen => "leaky_open",
            Self::BadJoint => "bad_joint",
            Self::BrokenConductor => "broken_conductor",
            Self::ServiceLost => "service_lost",
            Self::ServiceBad => "service_bad",
            Self::BondMissing => "bond_missing",
            Self::BondBad => "bond_bad",
            Self::ElectrodeLost => "electrode_lost",
            Self::ExchangedAtDevice => "exchanged_at_device",
            Self::ExchangedAtCableEnd => "exchanged_at_cable_end",
            Self::Bridged => "bridged",
            Self::TouchingInCable => "touching_in_cable",
            Self::InsulationDown => "insulation_down",
            Self::LeaksOnceOn => "leaks_once_on",
            Self::ShortInside => "short_inside",
            Self::DeviceWornOut => "device_worn_out",
            Self::SwitchStuck => "switch_stuck",
            Self::TabBroken => "tab_broken",
            Self::TabLeftIn => "tab_left_in",
            Self::LineLoadExchanged => "line_load_exchanged",
            Self::WrongBus => "wrong_bus",
            Self::WrongBreaker => "wrong_breaker",
            Self::HotsExchanged => "hots_exchanged",
            Self::HotsTied => "hots_tied",
            Self::NeutralOnBus => "neutral_on_bus",
            Self::NeutralsExchanged => "neutrals_exchanged",
            Self::NeutralsTied => "neutrals_tied",
            Self::SupplyVoltage => "supply_voltage",
        }
    }

    /// What is so, in words.
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::BreakerOff => "a breaker is off, or has tripped",
            Self::DeviceTripped => "a ground-fault or arc-fault device has tripped",
            Self::SwitchOther => "a switch stands in its other position",
            Self::OpenJoint => "a joint is open",
            Self::LeakyOpen => "a joint is open and current leaks across the gap",
            Self::BadJoint => "a joint has a resistance that it should not have",
            Self::BrokenConductor => "a conductor is broken inside a cable",
            Self::ServiceLost => "a conductor of the service or of the supply is lost",
            Self::ServiceBad => "a conductor of the service or of the supply has a bad joint",
            Self::BondMissing => {
                "the bond between neutral and ground, or between metal parts, is missing"
            }
            Self::BondBad => "the bond has a resistance that it should not have",
            Self::ElectrodeLost => "an earth electrode is lost",
            Self::ExchangedAtDevice => "two conductors are exchanged at a device",
            Self::ExchangedAtCableEnd => {
                "two conductors are exchanged where a cable ends, and so everywhere past it"
            }
            Self::Bridged => "two conductors are bridged in a box or a device",
            Self::TouchingInCable => "two conductors touch inside a cable",
            Self::InsulationDown => "the insulation of an appliance has broken down to its case",
            Self::LeaksOnceOn => {
                "the insulation of an appliance lets current to its case once it is on"
            }
            Self::ShortInside => "an appliance is shorted inside, or in its cord",
            Self::DeviceWornOut => {
                "a protective device is worn out: it lets go with no reason and does not reset"
            }
            Self::SwitchStuck => "a contact of a switch stays closed, however it stands",
            Self::TabBroken => {
                "a tab between the halves of a duplex is broken out that should be there"
            }
            Self::TabLeftIn => {
                "a tab between the halves of a duplex is in place that should be broken out"
            }
            Self::LineLoadExchanged => "line and load sides of a protective device are exchanged",
            Self::WrongBus => "a breaker sits on the wrong bus",
            Self::WrongBreaker => "the hot of a circuit lands on the breaker of another",
            Self::HotsExchanged => "the hots of two circuits are exchanged",
            Self::HotsTied => "the hots of two circuits are tied together away from the panel",
            Self::NeutralOnBus => "the neutral of a circuit lands on a hot bus",
            Self::NeutralsExchanged => "the neutrals of two circuits are exchanged",
            Self::NeutralsTied => {
                "the neutrals of two circuits are tied together away from the panel"
            }
            Self::SupplyVoltage => "the supply delivers another voltage",
        }
    }

    /// Whether it is made by whoever wires and never comes by itself.
    pub(crate) const fn is_of_the_installation(self) -> bool {
        matches!(
            self,
            Self::ExchangedAtDevice
                | Self::ExchangedAtCableEnd
                | Self::TabBroken
                | Self::TabLeftIn
                | Self::LineLoadExchanged
                | Self::WrongBus
                | Self::WrongBreaker
                | Self::HotsExchanged
                | Self::NeutralOnBus
                | Self::NeutralsExchanged
                | Self::NeutralsTied
        )
    }

    /// Whether it leads from one branch circuit to another.
    pub(crate) const fn joins_circuits(self) -> bool {
        matches!(
            self,
            Self::HotsTied
                | Self::NeutralsTied
                | Self::HotsExchanged
                | Self::NeutralsExchanged
                | Self::WrongBreaker
        )
    }

    /// Whether it is how something is set, and nothing is broken.
    pub const fn is_setting(self) -> bool {
        matches!(self, Self::BreakerOff | Self::DeviceTripped | Self::SwitchOther)
    }
}
