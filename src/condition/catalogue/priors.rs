//! How likely each fault is: judgement, all of it.
//!
//! No rate of defects per receptacle has been published. The figures are odds in a random
//! dwelling wired between 1962 and 1985 with about ten receptacles a circuit, chosen so that a
//! whole circuit comes out near the ranges of `docs/faults.md`: about 3 in 100 with a part of a
//! circuit dead, shared among push-in terminals, splices, screws and so on as electricians
//! report it.

use crate::circuit::JointKind;

/// Odds that a joint of each kind is open in a conductor that carries current.
///
/// ```
/// use slotwise::circuit::JointKind;
/// use slotwise::condition::catalogue::JointOdds;
/// let odds = JointOdds { push_in: 1e-3, ..JointOdds::default() };
/// assert!(odds.of(JointKind::PushIn) > odds.of(JointKind::Splice));
/// ```
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct JointOdds {
    /// A wire connector or splice, a pigtail's included.
    pub splice: f64,
    /// A terminal screw.
    pub screw: f64,
    /// A push-in terminal.
    pub push_in: f64,
    /// A strap inside a device.
    pub strap: f64,
    /// A tab between the halves of a duplex.
    pub tab: f64,
    /// A contact that a plug's blade makes.
    pub slot_contact: f64,
    /// A breaker's own contact or its stab.
    pub breaker: f64,
    /// A screw of a neutral or ground bar.
    pub bar: f64,
    /// A contact of a switch or of a protective device that does not make.
    pub switch_contact: f64,
}

impl Default for JointOdds {
    fn default() -> Self {
        Self {
            splice: 1.3e-4,
            screw: 6e-5,
            push_in: 2.8e-4,
            strap: 3e-5,
            tab: 5e-5,
            slot_contact: 1e-4,
            breaker: 3e-4,
            bar: 5e-4,
            switch_contact: 2e-4,
        }
    }
}

impl JointOdds {
    /// The odds for a kind of joint. Bonds, clamps and service conductors have their own in
    /// [`Priors`]; here they count as screws.
    pub const fn of(&self, kind: JointKind) -> f64 {
        match kind {
            JointKind::Splice | JointKind::Pigtail => self.splice,
            JointKind::PushIn => self.push_in,
            JointKind::Strap => self.strap,
            JointKind::Tab => self.tab,
            JointKind::SlotContact => self.slot_contact,
            JointKind::Breaker => self.breaker,
            JointKind::Bar => self.bar,
            JointKind::SwitchContact => self.switch_contact,
            JointKind::Screw | JointKind::Bond | JointKind::ElectrodeClamp | JointKind::Service => {
                self.screw
            }
        }
    }
}

/// How likely each kind of fault is, as odds per place in a random dwelling. Judgement: every
/// figure is meant to be replaced by whoever knows better.
///
/// ```
/// use slotwise::condition::catalogue::Priors;
/// let old_house = Priors { bootleg: 0.03, ..Priors::default() };
/// assert!(old_house.bootleg > Priors::default().bootleg);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Priors {
    /// Open joints.
    pub joint_open: JointOdds,
    /// A ground is open this many times as often as a conductor that carries current: nobody
    /// notices.
    pub ground_factor: f64,
    /// A joint is open and leaks, for each time that it is open.
    pub leaky_share: f64,
    /// A joint is bad, at each listed resistance, for each time that it is open.
    pub bad_share: f64,
    /// A conductor is broken in one cable.
    pub broken_conductor: f64,
    /// Two conductors touch in one cable, at each listed resistance.
    pub touching_in_cable: f64,
    /// Hot and neutral are exchanged at one device.
    pub hot_neutral_at_device: f64,
    /// Neutral and ground are exchanged at one device.
    pub neutral_ground_at_device: f64,
    /// A hot and the ground are exchanged at one device or cable end.
    pub hot_ground_exchanged: f64,
    /// Two conductors other than a hot and the ground are exchanged at one cable end.
    pub exchanged_at_cable_end: f64,
    /// Neutral and ground are bridged at one receptacle.
    pub bootleg: f64,
    /// Two other conductors are bridged, or any two through a resistance.
    pub bridged: f64,
    /// The insulation of one appliance has broken down, at each listed resistance.
    pub insulation_down: f64,
    /// The same only once the appliance is on, behind its own switch; a quarter of this metal on
    /// metal.
    pub leaks_once_on: f64,
    /// One appliance is shorted inside, a quarter of this before its own switch.
    pub short_inside: f64,
    /// One ground-fault, arc-fault or residual-current device is worn out and does not hold.
    pub device_worn_out: f64,
    /// One contact of one switch stays closed.
    pub switch_stuck: f64,
    /// A tab is broken out or left in against the plan, at one duplex.
    pub tab: f64,
    /// Line and load are exchanged at one device.
    pub line_load_exchanged: f64,
    /// One breaker is off or has tripped.
    pub breaker_off: f64,
    /// One ground-fault or arc-fault device has tripped.
    pub device_tripped: f64,
    /// One switch stands in its other position.
    pub switch_other: f64,
    /// One breaker sits on the wrong bus.
    pub wrong_bus: f64,
    /// The hot of one circuit lands on the breaker of one other.
    pub wrong_breaker: f64,
    /// The hots of one pair of circuits are exchanged.
    pub hots_exchanged: f64,
    /// The hots of one pair of circuits are tied; on two legs, where that trips both breakers, a
    /// twentieth of this.
    pub hots_tied: f64,
    /// The neutral of one circuit lands on one hot bus of its panel.
    pub neutral_on_bus: f64,
    /// The neutrals of one pair of circuits are exchanged.
    pub neutrals_exchanged: f64,
    /// The neutrals of one pair of circuits are tied.
    pub neutrals_tied: f64,
    /// The service neutral is lost.
    pub service_neutral: f64,
    /// Another service conductor is lost.
    pub service_leg: f64,
    /// The main bond is missing.
    pub bond: f64,
    /// An earth electrode is lost.
    pub electrode: f64,
    /// The supply is off by a listed share.
    pub supply_voltage: f64,
}

impl Default for Priors {
    fn default() -> Self {
        Self {
            joint_open: JointOdds::default(),
            ground_factor: 10.0,
            leaky_share: 0.1,
            bad_share: 0.4,
            broken_conductor: 5e-5,
            touching_in_cable: 5e-5,
            hot_neutral_at_device: 7e-3,
            neutral_ground_at_device: 2e-3,
            hot_ground_exchanged: 1e-4,
            exchanged_at_cable_end: 1e-3,
            bootleg: 6e-3,
            bridged: 1e-4,
            insulation_down: 1e-3,
            leaks_once_on: 4e-3,
            short_inside: 1e-3,
            device_worn_out: 3e-3,
            switch_stuck: 1e-4,
            tab: 5e-4,
            line_load_exchanged: 5e-3,
            breaker_off: 3e-3,
            device_tripped: 6e-3,
            switch_other: 1e-2,
            wrong_bus: 2e-3,
            wrong_breaker: 2e-4,
            hots_exchanged: 2e-4,
            hots_tied: 2e-4,
            neutral_on_bus: 2e-4,
            neutrals_exchanged: 1e-3,
            neutrals_tied: 1e-3,
            service_neutral: 2e-3,
            service_leg: 5e-4,
            bond: 2e-3,
            electrode: 5e-3,
            supply_voltage: 5e-3,
        }
    }
}
