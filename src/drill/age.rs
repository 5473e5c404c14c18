//! How long ago a building was wired, and what has become likelier since.

use crate::condition::catalogue::{JointOdds, Priors};

/// When a building was wired.
///
/// ```
/// use slotwise::drill::Age;
/// assert!(Age::Before1962.priors().bootleg > Age::After1985.priors().bootleg);
/// ```
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Age {
    /// Before 1962: receptacles with a ground slot were put in later.
    Before1962,
    /// 1962 to 1985.
    #[default]
    From1962To1985,
    /// After 1985.
    After1985,
}

/// How much likelier a fault is than in a building wired from 1962 to 1985.
struct Factors {
    ground: f64,
    hot_neutral: f64,
    neutral_ground: f64,
    bootleg: f64,
    open: f64,
}

impl Age {
    /// The years it stands for, first and last.
    pub const fn years(self) -> (u16, u16) {
        match self {
            Self::Before1962 => (1938, 1961),
            Self::From1962To1985 => (1962, 1985),
            Self::After1985 => (1986, 2019),
        }
    }

    /// Odds of every fault in a building of this age: those of [`Priors::default`], which are of
    /// the middle age, times the ratios of the ranges that docs/family-file.md lists. Judgement.
    pub fn priors(self) -> Priors {
        let factors = match self {
            Self::Before1962 => Factors {
                ground: 7.0,
                hot_neutral: 2.0,
                neutral_ground: 1.0,
                bootleg: 4.6,
                open: 1.5,
            },
            Self::From1962To1985 => return Priors::default(),
            Self::After1985 => Factors {
                ground: 0.16,
                hot_neutral: 0.45,
                neutral_ground: 0.6,
                bootleg: 0.19,
                open: 0.55,
            },
        };
        let usual = Priors::default();
        let joint = &usual.joint_open;
        let open = |odds: f64| odds * factors.open;
        Priors {
            joint_open: JointOdds {
                splice: open(joint.splice),
                screw: open(joint.screw),
                push_in: open(joint.push_in),
                strap: open(joint.strap),
                tab: open(joint.tab),
                slot_contact: open(joint.slot_contact),
                breaker: open(joint.breaker),
                bar: open(joint.bar),
                switch_contact: open(joint.switch_contact),
            },
            // It multiplies odds that are scaled already.
            ground_factor: usual.ground_factor * factors.ground / factors.open,
            hot_neutral_at_device: usual.hot_neutral_at_device * factors.hot_neutral,
            neutral_ground_at_device: usual.neutral_ground_at_device * factors.neutral_ground,
            bootleg: usual.bootleg * factors.bootleg,
            ..usual
        }
    }
}
