//! Current through a person. Only ever a warning.

use serde::{Deserialize, Serialize};

use super::bench::{Bench, Port};
use super::check::Check;
use super::phasor_form;
use super::problem::MeasureProblem;
use crate::netlist::{Law, NodeId};
use crate::quantity::Phasor;

/// A person touching two places.
///
/// ```
/// use slotwise::instrument::{presets, Instrument};
/// let Instrument::Person(person) = presets::person_hand_to_hand() else { panic!() };
/// assert!(person.body.source.contains("IEC 60479-1"));
/// assert_eq!(person.body.percentile, 50);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// What it is called.
    pub name: String,
    /// Impedance of the body.
    pub body: BodyImpedance,
    /// Anything else in the path, as shoes or gloves, ohms.
    #[serde(default)]
    pub extra_ohm: f64,
    /// Heart-current factor of the path: 1 from the left hand to the feet, 0.4 from hand to
    /// hand (IEC 60479-1, 5.9).
    pub heart_current_factor: f64,
}

/// Body impedance against touch voltage.
///
/// ```
/// use slotwise::instrument::BodyImpedance;
/// let body = BodyImpedance::iec_60479_1_dry_median();
/// assert!((body.at(112.5) - 1637.5).abs() < 1e-9);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BodyImpedance {
    /// Standard with edition and table.
    pub source: String,
    /// Percentage of people whose impedance is at most this.
    pub percentile: u8,
    /// Condition of the skin.
    pub skin: String,
    /// Touch voltage (volts rms) and total impedance (ohms), rising in voltage; straight
    /// lines between, constant beyond the ends.
    pub points: Vec<(f64, f64)>,
}

/// What flows through a person.
///
/// ```
/// use slotwise::instrument::{measure_netlist, presets, Effect, Place, Request, Shown};
/// # use slotwise::netlist::{Law, Netlist, Role};
/// # use slotwise::quantity::{Address, Impedance, Phasor};
/// # let mut netlist = Netlist::new(60.0);
/// # let hot = netlist.node(&Address::from("mill.frame"));
/// # let emf_volt = Phasor::new(120.0, 0.0);
/// # let impedance = Impedance::resistance(0.1);
/// # netlist.add("supply", hot, Netlist::EARTH, Role::Winding, Law::Source { emf_volt, impedance }).unwrap();
/// let place = Place::between("mill.frame", "earth");
/// let readings =
///     measure_netlist(&netlist, &[Request::new(presets::person_hand_to_feet_low(), place)]).unwrap();
/// let Shown::Person(shown) = &readings[0].shown else { panic!() };
/// assert_eq!(shown.effect, Effect::MayStopTheHeart);
/// assert!(shown.warning.contains("IEC 60479-1"));
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PersonReading {
    /// Voltage across the person, volts.
    #[serde(serialize_with = "phasor_form::full")]
    pub touch_volt: Phasor,
    /// Current through the person, amperes.
    #[serde(serialize_with = "phasor_form::full")]
    pub body_ampere: Phasor,
    /// Impedance of the person at that voltage, ohms, what is in the path besides included.
    pub body_ohm: f64,
    /// The highest threshold reached.
    pub effect: Effect,
    /// What to make of it, in words; names the table and the percentile.
    pub warning: String,
}

/// Effects of current through a person, by the thresholds for times beyond a few seconds.
///
/// ```
/// use slotwise::instrument::Effect;
/// assert!(Effect::MayNotLetGo < Effect::MayStopTheHeart);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Effect {
    /// Below the threshold of perception. Says nothing about safety.
    NotFelt,
    /// From 0.5 mA (IEC 60479-1, curve a).
    Felt,
    /// From 5 mA (IEC 60479-1, curve b: let-go threshold of all people).
    MayNotLetGo,
    /// From 40 mA over the heart-current factor (IEC 60479-1, curve c1, beyond 3 s).
    MayStopTheHeart,
}

const FELT_AMPERE: f64 = 0.5e-3;
const LET_GO_AMPERE: f64 = 5e-3;
const FIBRILLATION_AMPERE: f64 = 40e-3;

impl BodyImpedance {
    /// IEC 60479-1:2018 Table 1, large dry contact areas, hand to hand, 50th percentile.
    pub fn iec_60479_1_dry_median() -> Self {
        Self::iec_60479_1(
            50,
            [3250.0, 2500.0, 2000.0, 1725.0, 1550.0, 1400.0, 1325.0, 1275.0, 1225.0, 950.0, 775.0],
        )
    }

    /// The same, 5th percentile: one in twenty has less.
    pub fn iec_60479_1_dry_low() -> Self {
        Self::iec_60479_1(
            5,
            [1750.0, 1375.0, 1125.0, 990.0, 900.0, 850.0, 825.0, 800.0, 775.0, 700.0, 575.0],
        )
    }

    fn iec_60479_1(percentile: u8, ohm: [f64; 11]) -> Self {
        let volt = [25.0, 50.0, 75.0, 100.0, 125.0, 150.0, 175.0, 200.0, 225.0, 400.0, 700.0];
        Self {
            source: "IEC 60479-1:2018 Table 1".to_owned(),
            percentile,
            skin: "dry, large contact areas".to_owned(),
            points: volt.into_iter().zip(ohm).collect(),
        }
    }

    /// The impedance in ohms at a touch voltage in volts rms.
    pub fn at(&self, volt: f64) -> f64 {
        let mut below: Option<(f64, f64)> = None;
        for &(at_volt, ohm) in &self.points {
            match below {
                None if volt <= at_volt => return ohm,
                Some((low_volt, low_ohm)) if volt <= at_volt => {
                    return low_ohm + (ohm - low_ohm) * (volt - low_volt) / (at_volt - low_volt);
                }
                _ => below = Some((at_volt, ohm)),
            }
        }
        below.map_or(f64::INFINITY, |(_, ohm)| ohm)
    }
}

impl Person {
    /// The touch voltage V solves V = |V_network(Z(V))|. The right side falls as V rises, since Z
    /// falls with V, so there is one solution, and halving the bracket finds it.
    pub(super) fn touch(
        &self,
        bench: &Bench<'_>,
        from: NodeId,
        to: NodeId,
    ) -> Result<PersonReading, MeasureProblem> {
        let body_ohm = |volt: f64| self.body.at(volt) + self.extra_ohm;
        let at = |volt: f64| {
            bench.attach_reached(&[Port { from, to, law: Law::resistance(body_ohm(volt)) }])
        };
        let seen = |volt: f64| {
            let attached = at(volt)?;
            Ok::<f64, MeasureProblem>(attached.voltage(0).map_or(0.0, Phasor::magnitude))
        };
        // Where the source is stiff, what is seen hardly depends on what is tried: trying what was
        // seen last narrows the bracket faster than its middle.
        let (mut low, mut high) = (0.0, seen(0.0)?);
        let mut volt = high;
        for round in 0..ROUNDS_MAX {
            let then = seen(volt)?;
            if then >= volt {
                (low, high) = (volt, high.min(then));
            } else {
                (low, high) = (low.max(then), volt);
            }
            if high - low <= SETTLED * high {
                break;
            }
            let tried = volt;
            volt = if round > TRIED_AS_SEEN || round % 4 == 3 {
                (low + high) / 2.0
            } else {
                then.clamp(low, high)
            };
            if (volt - tried).abs() <= SETTLED * tried {
                break;
            }
        }
        let attached = at(volt)?;
        let (touch_volt, body_ampere) =
            (attached.voltage(0).unwrap_or(Phasor::ZERO), attached.current(0));
        let effect = self.effect(body_ampere.magnitude());
        Ok(PersonReading {
            touch_volt,
            body_ampere,
            body_ohm: body_ohm(volt),
            effect,
            warning: self.warning(body_ampere.magnitude(), effect),
        })
    }

    /// The highest threshold that a current in amperes along this path reaches.
    pub fn effect(&self, ampere: f64) -> Effect {
        if ampere >= FIBRILLATION_AMPERE / self.heart_current_factor {
            Effect::MayStopTheHeart
        } else if ampere >= LET_GO_AMPERE {
            Effect::MayNotLetGo
        } else if ampere >= FELT_AMPERE {
            Effect::Felt
        } else {
            Effect::NotFelt
        }
    }

    fn warning(&self, ampere: f64, effect: Effect) -> String {
        let body = &self.body;
        let consequence = match effect {
            Effect::MayStopTheHeart => "enough to stop the heart within seconds",
            Effect::MayNotLetGo => "people may be unable to let go",
            Effect::Felt => "felt as a shock; a fall or a start can injure",
            Effect::NotFelt => "below the threshold of feeling, which proves nothing safe",
        };
        format!(
            "{:.2} mA through a person by {} ({}th percentile, {}): {consequence}; other skin, \
             other contact areas and other people draw more",
            ampere * 1e3,
            body.source,
            body.percentile,
            body.skin,
        )
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.not_negative("extra_ohm", self.extra_ohm);
        check.positive("heart_current_factor", self.heart_current_factor);
        check.inside("body", |check| {
            let points = &self.body.points;
            check.that("points", !points.is_empty(), "is empty, a table has at least one row");
            let sound = |&(volt, ohm): &(f64, f64)| {
                volt >= 0.0 && volt.is_finite() && ohm > 0.0 && ohm.is_finite()
            };
            check.that("points", points.iter().all(sound), "must hold volts and ohms above zero");
            let rising = points.windows(2).all(|pair| match pair {
                [first, second] => first.0 < second.0 && first.1 >= second.1,
                _ => true,
            });
            check.that("points", rising, "must rise in volts and not in ohms");
        });
    }
}

/// Width of the bracket, relative, at which the touch voltage is settled.
const SETTLED: f64 = 1e-12;

/// After so many rounds what was seen last is tried no more: of a body whose impedance falls steeply it
/// leads from one side of the answer to the other.
const TRIED_AS_SEEN: usize = 12;

/// Halvings that bring any bracket to rounding.
const ROUNDS_MAX: usize = 64;

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::instrument::{Instrument, Place, Request, Shown, measure_netlist, presets};
    use crate::netlist::{Netlist, Role};
    use crate::quantity::{Address, Impedance};

    #[test]
    fn body_impedance_is_constant_beyond_the_ends_of_its_table() {
        let body = BodyImpedance::iec_60479_1_dry_low();
        for (volt, ohm) in
            [(0.0, 1750.0), (25.0, 1750.0), (37.5, 1562.5), (700.0, 575.0), (9e3, 575.0)]
        {
            assert!((body.at(volt) - ohm).abs() < 1e-9, "{volt} V");
        }
    }

    /// What is left of the bracket in which the touch voltage is sought, and rounding.
    const SETTLED: f64 = 1e-9;

    fn hand_to_hand() -> Person {
        let Instrument::Person(person) = presets::person_hand_to_hand() else { panic!() };
        person
    }

    /// A person touching the end of some resistance from a voltage.
    fn touching(volt: f64, ohm: f64, person: &Person) -> PersonReading {
        let mut netlist = Netlist::new(60.0);
        let case = netlist.node(&Address::from("case"));
        let emf_volt = Phasor::new(volt, 0.0);
        let source = Law::Source { emf_volt, impedance: Impedance::resistance(ohm) };
        netlist.add("supply", case, Netlist::EARTH, Role::Winding, source).unwrap();
        let request =
            Request::new(Instrument::Person(person.clone()), Place::between("case", "earth"));
        match measure_netlist(&netlist, &[request]).unwrap().remove(0).shown {
            Shown::Person(shown) => shown,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn behind_as_much_as_the_body_has_a_person_is_left_with_half_the_voltage() {
        // Half way from 100 to 125 V the table gives half way from 1725 to 1550 ohms.
        let shown = touching(225.0, 1637.5, &hand_to_hand());
        assert_relative_eq!(shown.touch_volt.re, 112.5, max_relative = SETTLED);
        assert_relative_eq!(shown.body_ohm, 1637.5, max_relative = SETTLED);
        assert_relative_eq!(shown.body_ampere.re, 112.5 / 1637.5, max_relative = SETTLED);
    }

    #[test]
    fn shoes_add_to_the_body_and_do_not_change_what_it_is_at_that_voltage() {
        let shod = Person { extra_ohm: 2e3, ..hand_to_hand() };
        // 120 V hard: four fifths of the way from 1725 to 1550 ohms, and the shoes.
        let shown = touching(120.0, 0.0, &shod);
        assert_relative_eq!(shown.body_ohm, 1585.0 + 2e3, max_relative = SETTLED);
        assert_relative_eq!(shown.body_ampere.re, 120.0 / 3585.0, max_relative = SETTLED);
    }

    /// Where the impedance falls by ohms in microvolts, the last digits of the voltage are those of ohms.
    const STEEP: f64 = 1e-6;

    #[test]
    fn a_body_whose_impedance_falls_within_a_millivolt_is_left_with_what_solves_both() {
        let mut steep = hand_to_hand();
        // Half way down the step there are 5500 ohms, and behind as many half of the voltage.
        for (to_volt, volt) in [(50.001, 100.001), (50.1, 100.1)] {
            steep.body.points = vec![(50.0, 10e3), (to_volt, 1e3)];
            let shown = touching(volt, 5.5e3, &steep);
            assert_relative_eq!(shown.touch_volt.re, volt / 2.0, max_relative = STEEP);
            assert_relative_eq!(shown.body_ohm, 5.5e3, max_relative = STEEP);
            assert_relative_eq!(shown.body_ampere.re, volt / 11e3, max_relative = STEEP);
        }
    }

    #[test]
    fn from_hand_to_hand_it_takes_two_and_a_half_times_the_current_to_stop_the_heart() {
        let across = hand_to_hand();
        assert_eq!(across.effect(99e-3), Effect::MayNotLetGo);
        assert_eq!(across.effect(101e-3), Effect::MayStopTheHeart);
        let to_feet = Person { heart_current_factor: 1.0, ..across };
        assert_eq!(to_feet.effect(39e-3), Effect::MayNotLetGo);
        assert_eq!(to_feet.effect(41e-3), Effect::MayStopTheHeart);
    }

    #[test]
    fn a_table_of_the_body_holds_volts_and_ohms_that_there_are() {
        let complaints = |points: &[(f64, f64)]| {
            let mut person = hand_to_hand();
            person.body.points = points.to_vec();
            let mut check = Check::default();
            person.check(&mut check);
            check.into_bad().into_iter().map(|bad| bad.path).collect::<Vec<_>>()
        };
        assert!(complaints(&[(25.0, 1750.0), (700.0, 575.0)]).is_empty());
        for bad in [
            [(-25.0, 1750.0), (700.0, 575.0)],
            [(25.0, 1750.0), (f64::INFINITY, 575.0)],
            [(25.0, 1750.0), (700.0, 0.0)],
            [(25.0, f64::INFINITY), (700.0, 575.0)],
        ] {
            assert_eq!(complaints(&bad), ["body.points"], "{bad:?}");
        }
    }
}
