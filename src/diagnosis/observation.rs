//! What someone saw, where, and how things stood then.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::circuit::connection::is_contact_of;
use crate::condition::{Condition, Fault};
use crate::instrument::{Displayed, Glow, Instrument, Place, Reading, Request, Shown};

use super::{Amount, Complaint};

/// What someone saw at one moment.
///
/// ```
/// use slotwise::diagnosis::{Amount, Observation, Seen, Showed};
/// use slotwise::instrument::{Place, presets};
/// let between = Place::between("kiln.hot", "kiln.neutral");
/// let read = Observation::reading(
///     presets::voltmeter_high_impedance(),
///     between,
///     vec![Showed::Volt(Amount::About(60.0))],
/// );
/// assert!(read.moment.unknown.is_empty(), "everything stood as the circuit file says");
/// assert!(matches!(read.seen, Seen::Instrument { .. }));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Observation {
    /// How loads, switches and breakers stood.
    pub moment: Moment,
    /// What was seen.
    pub seen: Seen,
}

impl Observation {
    /// An instrument held somewhere, everything else as the circuit file says.
    pub fn reading(instrument: Instrument, place: Place, showed: Vec<Showed>) -> Self {
        let request = Box::new(Request::new(instrument, place));
        Self { moment: Moment::default(), seen: Seen::Instrument { request, showed } }
    }

    /// The same at another moment.
    #[must_use]
    pub fn at(mut self, moment: Moment) -> Self {
        self.moment = moment;
        self
    }

    /// Whether it says what was so with the power on: something runs, or was read and no breaker was
    /// off for it.
    pub fn is_of_what_is_live(&self) -> bool {
        match &self.seen {
            Seen::Instrument { request, .. } => {
                use Instrument::{Insulation, Ohmmeter};
                let is_of_the_dead = matches!(request.instrument, Ohmmeter(_) | Insulation(_));
                !is_of_the_dead && self.moment.condition.breakers.values().all(|closed| *closed)
            }
            Seen::Load { .. } | Seen::CalledAgain(_) => true,
            _ => false,
        }
    }

    /// Whether nothing was seen: nobody looked, or nobody is sure of anything.
    pub fn says_nothing(&self) -> bool {
        match &self.seen {
            Seen::Instrument { showed, .. } => showed.iter().all(Showed::says_nothing),
            Seen::Load { seen, .. } => *seen == LoadSeen::NotSure,
            _ => false,
        }
    }
}

/// How things stood. What is neither set in `condition` nor unknown stood as the circuit file
/// says.
///
/// ```
/// use slotwise::condition::LoadState;
/// use slotwise::diagnosis::Moment;
/// let mut moment = Moment::default();
/// moment.condition.loads.insert("heater".into(), LoadState::On);
/// moment.unknown.insert("radio".into());
/// assert!(moment.condition.faults.is_empty(), "faults are what is looked for");
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Moment {
    /// Loads, switches, breakers and what was attached, as far as they stood differently from
    /// the circuit file. Its faults are only what was done on purpose, such as a conductor
    /// lifted off.
    pub condition: Condition,
    /// Loads, switches, breakers and protective devices of which nobody knows how they stood.
    pub unknown: BTreeSet<String>,
}

impl Moment {
    /// How things stand when they stand so but for what is said besides: `with lamp on` of a test that
    /// is read with something unplugged leaves that unplugged.
    pub(crate) fn and_besides(&self, said: &Self) -> Self {
        let mut both = self.clone();
        both.condition.loads.retain(|name, _| !said.unknown.contains(name));
        both.condition.switches.retain(|name, _| !said.unknown.contains(name));
        both.condition.breakers.retain(|name, _| !said.unknown.contains(name));
        let stands = &said.condition;
        both.unknown.retain(|name| {
            !stands.loads.contains_key(name)
                && !stands.switches.contains_key(name)
                && !stands.breakers.contains_key(name)
        });
        both.condition.put_on(stands);
        both.unknown.extend(said.unknown.iter().cloned());
        both
    }
}

/// Something seen.
///
/// ```
/// use slotwise::diagnosis::{LoadSeen, Seen};
/// let dead = Seen::Load { load: "heater".into(), seen: LoadSeen::Dead };
/// assert_ne!(dead, Seen::Load { load: "heater".into(), seen: LoadSeen::Runs });
/// ```
#[derive(Clone, Debug, PartialEq)]
pub enum Seen {
    /// An instrument showed something.
    Instrument {
        /// The instrument, where it was held, and what was prepared.
        request: Box<Request>,
        /// What it showed; empty where nobody looked.
        showed: Vec<Showed>,
    },
    /// A load did something.
    Load {
        /// The load.
        load: String,
        /// What it did.
        seen: LoadSeen,
    },
    /// A breaker or a protective device did something.
    Protection {
        /// The branch circuit or the device.
        name: String,
        /// What it did.
        did: Protected,
    },
    /// A box was opened, dead, and its joints looked at.
    Opened {
        /// The box.
        place: String,
        /// What was found; empty where every joint looked sound.
        found: Vec<Found>,
    },
    /// Something was put right: what is seen from then on is seen without it.
    Mended(Mended),
    /// A load was tried where the supply is known to be good.
    TriedElsewhere {
        /// The load.
        load: String,
        /// What it did there.
        did: Elsewhere,
    },
    /// What is complained of since something was put right.
    CalledAgain(Complaint),
}

/// What was put right.
///
/// ```
/// use slotwise::diagnosis::{Mended, Seen};
/// let mended = Seen::Mended(Mended::Box { place: "kiln".into() });
/// assert_ne!(mended, Seen::Mended(Mended::Load { load: "kiln".into() }));
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mended {
    /// What was found in a box, as told before; all of its joints if nothing was.
    Box {
        /// The box.
        place: String,
    },
    /// A load: repaired, exchanged for a good one, or fitted with a new lamp.
    Load {
        /// The load.
        load: String,
    },
    /// A cable: a new one lies between the same two boxes, its joints made anew.
    Cable {
        /// The cable.
        cable: String,
    },
    /// What the supply delivers and the conductors that it comes by, up to the main panel.
    Supply,
}

/// One thing that an instrument showed. Indicators are named by the slots they span.
///
/// ```
/// use slotwise::diagnosis::Showed;
/// use slotwise::instrument::{Brightness, Glow};
/// let unsure = Glow { at_least: Brightness::Dark, at_most: Brightness::Lit };
/// let not_sure = Showed::Indicator { between: ("hot".into(), "ground".into()), glow: unsure };
/// assert!(not_sure.says_nothing());
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Showed {
    /// An indicator of a plug-in tester; from dark to lit where nobody is sure.
    Indicator {
        /// The slots it spans.
        between: (String, String),
        /// How bright it was.
        glow: Glow,
    },
    /// A voltmeter, volts.
    Volt(Amount),
    /// The highest step of a tester that shows steps; `None` for none at all.
    Step(Option<String>),
    /// Whether a non-contact detector sounded.
    Alarm(bool),
    /// A clamp meter, amperes.
    Ampere(Amount),
    /// An ohmmeter or an insulation tester, ohms; over range is [`Amount::Over`].
    Ohm(Amount),
    /// Whether a continuity tester sounded.
    Continuity(bool),
    /// A loaded test between hot and neutral: volts that the load took away.
    LostVolt(Amount),
    /// The part of that loss along one conductor, `hot` or `neutral`, measured against the
    /// ground: volts.
    LostAlong {
        /// The conductor.
        conductor: String,
        /// Volts lost along it.
        volt: Amount,
    },
    /// The button of a tester, or the test button of a protective device, made it trip.
    Tripped(bool),
    /// Nobody is sure.
    NotSure,
}

impl Showed {
    /// What a reading shows, as a careful person reports it; nothing where it shows nothing that can
    /// be reported.
    ///
    /// ```
    /// use slotwise::Condition;
    /// use slotwise::diagnosis::Showed;
    /// use slotwise::instrument::{Place, Request, measure, presets};
    /// # let studio = slotwise::circuit::file::read(
    /// #     r#"(
    /// #     format: 1,
    /// #     circuits: [(id: "c1", amperes: 20)],
    /// #     boxes: [(id: "door", from: "c1", feet: 30)],
    /// # )"#,
    /// # )
    /// # .unwrap()
    /// # .circuit;
    /// let pen = Request::new(presets::non_contact_detector(), Place::near("door.hot"));
    /// let readings = measure(&studio, &Condition::default(), &[pen]).unwrap();
    /// assert_eq!(Showed::of_reading(&readings[0]), [Showed::Alarm(true)]);
    /// ```
    pub fn of_reading(reading: &Reading) -> Vec<Self> {
        match &reading.shown {
            Shown::PlugTester(shown) => shown
                .indicators
                .iter()
                .map(|one| Self::Indicator { between: one.between.clone(), glow: one.glow })
                .collect(),
            Shown::Voltmeter(shown) => {
                shown.display.iter().map(|one| Self::Volt(displayed(one))).collect()
            }
            // Nobody is sure of a step that it may or may not reach.
            Shown::StepTester(shown) if shown.voltage_volt.is_some() => match shown.may_step {
                Some(_) => Vec::new(),
                None => vec![Self::Step(shown.step.clone())],
            },
            Shown::NonContact(shown) => shown.alarm.map(Self::Alarm).into_iter().collect(),
            Shown::Clamp(shown) => vec![Self::Ampere(displayed(&shown.display))],
            Shown::Ohmmeter(shown) if shown.refuses => Vec::new(),
            Shown::Ohmmeter(shown) => vec![Self::Ohm(displayed(&shown.display))],
            Shown::Insulation(shown) => vec![Self::Ohm(displayed(&shown.display))],
            // To a tenth, as a display gives it.
            Shown::LoadedTest(shown) => shown
                .drop_volt
                .map(|volt| Self::LostVolt(Amount::Exactly((volt * 10.0).round() / 10.0)))
                .into_iter()
                .collect(),
            Shown::Residual(shown) => shown.trips.map(Self::Tripped).into_iter().collect(),
            _ => Vec::new(),
        }
    }

    /// Its figure, if it has one.
    pub(super) const fn amount(&self) -> Option<&Amount> {
        match self {
            Self::Volt(amount)
            | Self::Ampere(amount)
            | Self::Ohm(amount)
            | Self::LostVolt(amount)
            | Self::LostAlong { volt: amount, .. } => Some(amount),
            _ => None,
        }
    }

    /// Whether it tells nothing.
    pub fn says_nothing(&self) -> bool {
        use crate::instrument::Brightness::{Dark, Lit};
        match self {
            Self::NotSure => true,
            Self::Indicator { glow, .. } => glow.at_least == Dark && glow.at_most == Lit,
            _ => false,
        }
    }
}

fn displayed(display: &Displayed) -> Amount {
    display.value.map_or(Amount::Over(display.low), Amount::Exactly)
}

/// What a load that was switched on did.
///
/// ```
/// use slotwise::diagnosis::LoadSeen;
/// assert_eq!(serde_json::to_string(&LoadSeen::TooBright).unwrap(), "\"too_bright\"");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LoadSeen {
    /// Runs as it should.
    Runs,
    /// Runs dim, slow or lukewarm.
    Weak,
    /// Runs too bright, too fast or too hot.
    TooBright,
    /// Does nothing.
    Dead,
    /// Nobody is sure.
    NotSure,
}

/// What a load did where the supply is known to be good.
///
/// ```
/// use slotwise::diagnosis::Elsewhere;
/// assert_eq!(serde_json::to_string(&Elsewhere::Trips).unwrap(), "\"trips\"");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Elsewhere {
    /// Runs as it should.
    Runs,
    /// Does nothing.
    Dead,
    /// Trips what protects it there too.
    Trips,
}

/// What a breaker or a protective device did.
///
/// ```
/// use slotwise::diagnosis::Protected;
/// assert_ne!(Protected::Holds, Protected::TripsAtOnce);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Protected {
    /// Stays closed.
    Holds,
    /// Trips as soon as it is closed, or as the load is switched on.
    TripsAtOnce,
    /// Trips after a while.
    TripsLater,
    /// Does not reset.
    WontReset,
    /// Was found off.
    FoundOff,
}

/// What was found in an opened box.
///
/// ```
/// use slotwise::diagnosis::Found;
/// let loose = Found::BadJoint { element: "contact:door-kiln.b.neutral".into() };
/// assert!(matches!(loose, Found::BadJoint { .. }));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub enum Found {
    /// A joint that is loose, burnt or parted; its element as in the netlist.
    BadJoint {
        /// The element.
        element: String,
    },
    /// Something that can be said as a fault: conductors exchanged, a bridge.
    Fault(Fault),
}

impl Found {
    /// The joint that it is in, if it is in one.
    pub(super) const fn joint(&self) -> Option<&String> {
        match self {
            Self::BadJoint { element } => Some(element),
            Self::Fault(fault) => fault.joint(),
        }
    }

    /// Whether it is in a cable or in a joint that this cable lands in.
    pub(super) fn is_of_cable(&self, cable: &str) -> bool {
        match self {
            Self::BadJoint { element } => is_contact_of(element, cable),
            Self::Fault(fault) => fault.is_of_cable(cable),
        }
    }

    /// Whether it is a joint of the conductors that the supply comes by.
    pub(super) fn is_of_the_service(&self) -> bool {
        self.joint().is_some_and(|joint| joint.starts_with("service:"))
    }

    /// Whether this is what some faults look like to whoever opens the box.
    pub(crate) fn is_among(&self, faults: &[Fault]) -> bool {
        faults.iter().any(|known| match self {
            Self::BadJoint { element } => known.joint() == Some(element),
            Self::Fault(found) => known.looks_like(found),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stands_besides_is_added_to_how_a_test_has_things_stand() {
        use crate::condition::LoadState;
        let with = |loads: &[(&str, LoadState)], unknown: &[&str]| {
            let mut moment = Moment::default();
            moment.condition.loads = loads.iter().map(|(load, at)| ((*load).into(), *at)).collect();
            moment.unknown = unknown.iter().map(|&name| name.into()).collect();
            moment
        };
        let (off, on) = (LoadState::Unplugged, LoadState::On);
        let test = with(&[("heater", off)], &[]);
        assert_eq!(
            test.and_besides(&with(&[("lamp", on)], &[])),
            with(&[("heater", off), ("lamp", on)], &[])
        );
        assert_eq!(test.and_besides(&with(&[("heater", on)], &[])), with(&[("heater", on)], &[]));
        assert_eq!(test.and_besides(&with(&[], &["heater"])), with(&[], &["heater"]));
    }
}
