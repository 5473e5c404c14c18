//! What an instrument is held to show, and whether a reading is that.

use crate::circuit::Outlet;
use crate::instrument::{
    Band, Brightness, Instrument, LoadedReading, NonContactReading, Place, PlugTesterReading,
    Request, Shown, StepReading, VoltmeterReading, place_of_outlet,
};

use super::LookAlikeProblem;

/// One thing that an instrument shows. Indicators are named by the slots they span.
///
/// ```
/// use slotwise::lookalike::Shows;
/// let dead = Shows::Volt { between: ("hot".into(), "neutral".into()), low: 0.0, high: 1.0 };
/// assert_eq!(dead.to_string(), "hot-neutral 0 to 1 V");
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Shows {
    /// An indicator of a plug-in tester.
    Indicator {
        /// The slots it spans.
        between: (String, String),
        /// How bright it is.
        brightness: Brightness,
    },
    /// A meter between two slots.
    Volt {
        /// The slots its probes are in.
        between: (String, String),
        /// Lowest it may show, volts.
        low: f64,
        /// Highest it may show, volts.
        high: f64,
    },
    /// A tester that shows steps of voltage, between two slots.
    Step {
        /// The slots its probes are in.
        between: (String, String),
        /// The highest step it shows; `None` for none at all.
        label: Option<String>,
    },
    /// A non-contact detector near one slot.
    Alarm {
        /// The slot.
        at: String,
        /// It sounds.
        alarm: bool,
    },
    /// The loss of a loaded test between hot and neutral.
    LostVolt {
        /// Least, volts.
        low: f64,
        /// Most, volts.
        high: f64,
    },
}

impl std::fmt::Display for Shows {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Indicator { between: (p, q), brightness } => {
                let word = match brightness {
                    Brightness::Dark => "dark",
                    Brightness::Dim => "dim",
                    Brightness::Lit => "lit",
                };
                write!(f, "{p}-{q} {word}")
            }
            Self::Volt { between: (p, q), low, high } if high.is_infinite() => {
                write!(f, "{p}-{q} over {low} V")
            }
            Self::Volt { between: (p, q), low, high } => write!(f, "{p}-{q} {low} to {high} V"),
            Self::Step { between: (p, q), label: Some(label) } => write!(f, "{p}-{q} {label}"),
            Self::Step { between: (p, q), label: None } => write!(f, "{p}-{q} nothing"),
            Self::Alarm { at, alarm: true } => write!(f, "{at} alarm"),
            Self::Alarm { at, alarm: false } => write!(f, "{at} no alarm"),
            Self::LostVolt { low, high } if high.is_infinite() => write!(f, "lost over {low} V"),
            Self::LostVolt { low, high } => write!(f, "lost {low} to {high} V"),
        }
    }
}

/// What an instrument does at one receptacle: one request, or one for each pair of slots.
#[derive(Clone, Debug)]
pub(crate) struct Placement {
    pub(crate) requests: Vec<Request>,
    /// The slots of each request: two, one, or none where the instrument takes them all.
    pub(crate) spots: Vec<Vec<String>>,
}

impl Placement {
    /// How an instrument is held at an outlet.
    pub(crate) fn new(instrument: &Instrument, outlet: &Outlet) -> Result<Self, LookAlikeProblem> {
        let slots = &outlet.slots;
        let mut placement = Self { requests: Vec::new(), spots: Vec::new() };
        let mut put = |place, spot: &[&String]| {
            placement.requests.push(Request::new(instrument.clone(), place));
            placement.spots.push(spot.iter().map(|&name| name.clone()).collect());
        };
        match instrument {
            Instrument::PlugTester(_) | Instrument::LoadedTest(_) => {
                put(place_of_outlet(outlet, false), &[]);
            }
            Instrument::Voltmeter(_) | Instrument::StepTester(_) => {
                for (at, (p, from)) in slots.iter().enumerate() {
                    for (q, to) in slots.iter().skip(at + 1) {
                        put(Place::between(from.clone(), to.clone()), &[p, q]);
                    }
                }
            }
            Instrument::NonContact(_) => {
                for (name, terminal) in slots {
                    put(Place::near(terminal.clone()), &[name]);
                }
            }
            other => {
                let what = format!(
                    "a {} is not held to a receptacle: look-alikes are asked of plug-in testers, \
                     meters, step testers, non-contact detectors and loaded tests",
                    other.name()
                );
                return Err(LookAlikeProblem::NotThere { what });
            }
        }
        Ok(placement)
    }

    /// Everything that can be asked of it, as examples for who asked something else.
    pub(super) fn can_show(&self) -> Vec<String> {
        let mut forms = Vec::new();
        for (request, spot) in self.requests.iter().zip(&self.spots) {
            match (&request.instrument, spot.as_slice()) {
                (Instrument::PlugTester(tester), _) => {
                    let span = |s: &crate::instrument::SpannedIndicator| {
                        format!("{}-{} dark, dim or lit", s.between.0, s.between.1)
                    };
                    forms.extend(tester.indicators.iter().map(span));
                }
                (Instrument::LoadedTest(_), _) => forms.push("lost 2 to 4 V".to_owned()),
                (Instrument::StepTester(tester), [p, q]) => {
                    let labels = tester.steps.iter().map(|step| step.label.as_str());
                    let labels: Vec<&str> = labels.chain(["nothing"]).collect();
                    forms.push(format!("{p}-{q} {}", labels.join(" or ")));
                }
                (_, [p, q]) => forms.push(format!("{p}-{q} 118 to 122 V")),
                (_, [one]) => forms.push(format!("{one} alarm or no alarm")),
                _ => {}
            }
        }
        forms
    }

    /// Whether it can show a thing at all.
    pub(super) fn may_show(&self, shows: &Shows) -> bool {
        self.requests.iter().zip(&self.spots).any(|(request, spot)| {
            match (shows, &request.instrument) {
                (Shows::Indicator { between, .. }, Instrument::PlugTester(tester)) => {
                    tester.indicators.iter().any(|spanned| same(&spanned.between, between))
                }
                (Shows::Volt { between, .. }, Instrument::Voltmeter(_)) => spans(spot, between),
                (Shows::Step { between, label }, Instrument::StepTester(tester)) => {
                    let known = |label: &String| tester.steps.iter().any(|s| s.label == *label);
                    spans(spot, between) && label.as_ref().is_none_or(known)
                }
                (Shows::Alarm { at, .. }, Instrument::NonContact(_)) => is_at(spot, at),
                (Shows::LostVolt { .. }, Instrument::LoadedTest(_)) => true,
                _ => false,
            }
        })
    }

    /// Whether these readings, one a request, show all that is asked, as far as their bands
    /// leave it open.
    pub(super) fn matches(&self, readings: &[Shown], showing: &[Shows]) -> bool {
        showing.iter().all(|shows| {
            readings.iter().zip(&self.spots).any(|(shown, spot)| shown_is(shown, spot, shows))
        })
    }

    /// The readings in one line, meters and loaded tests in steps.
    pub(super) fn pattern(&self, readings: &[Shown]) -> String {
        let each =
            readings.iter().zip(&self.spots).map(|(shown, spot)| one_of_pattern(shown, spot));
        each.collect::<Vec<_>>().join(", ")
    }
}

fn one_of_pattern(shown: &Shown, spot: &[String]) -> String {
    let pair = spot.join("-");
    match shown {
        Shown::PlugTester(reading) => reading.pattern(),
        Shown::Voltmeter(reading) => format!("{pair} {}", about(reading)),
        Shown::StepTester(reading) => {
            format!("{pair} {}", reading.step.as_deref().unwrap_or("nothing"))
        }
        Shown::NonContact(reading) => format!("{pair} {}", reading.state),
        Shown::LoadedTest(reading) => lost(reading),
        _ => String::new(),
    }
}

fn same(one: &(String, String), other: &(String, String)) -> bool {
    one == other || (one.0 == other.1 && one.1 == other.0)
}

fn spans(spot: &[String], between: &(String, String)) -> bool {
    matches!(spot, [p, q] if same(&(p.clone(), q.clone()), between))
}

fn is_at(spot: &[String], at: &str) -> bool {
    matches!(spot, [only] if only == at)
}

fn shown_is(shown: &Shown, spot: &[String], shows: &Shows) -> bool {
    match (shown, shows) {
        (Shown::PlugTester(reading), Shows::Indicator { between, brightness }) => {
            indicator_is(reading, between, *brightness)
        }
        (Shown::Voltmeter(reading), Shows::Volt { between, low, high }) => {
            spans(spot, between) && meter_is(reading, *low, *high)
        }
        (Shown::StepTester(reading), Shows::Step { between, label }) => {
            spans(spot, between) && step_is(reading, label.as_deref())
        }
        (Shown::NonContact(reading), Shows::Alarm { at, alarm }) => {
            is_at(spot, at) && alarm_is(reading, *alarm)
        }
        (Shown::LoadedTest(reading), Shows::LostVolt { low, high }) => {
            reading.drop_volt.is_some_and(|volt| (*low..=*high).contains(&volt))
        }
        _ => false,
    }
}

fn indicator_is(
    reading: &PlugTesterReading,
    between: &(String, String),
    brightness: Brightness,
) -> bool {
    reading.indicators.iter().any(|indicator| {
        let glow = indicator.glow;
        same(&indicator.between, between)
            && glow.at_least <= brightness
            && brightness <= glow.at_most
    })
}

/// A meter may show anything within its tolerance; past its range it shows more than it can say.
fn meter_is(reading: &VoltmeterReading, low: f64, high: f64) -> bool {
    let displays = [
        reading.display.as_ref(),
        reading.settled.as_ref().and_then(|settled| settled.display.as_ref()),
    ];
    displays.into_iter().flatten().any(|shown| shown.low <= high && shown.high >= low)
}

fn step_is(reading: &StepReading, label: Option<&str>) -> bool {
    label == reading.step.as_deref()
        || reading.may_step.is_some() && label == reading.may_step.as_deref()
}

fn alarm_is(reading: &NonContactReading, alarm: bool) -> bool {
    reading.alarm.is_none_or(|sounds| sounds == alarm)
}

/// Meters are sorted into patterns by steps of this many volts.
const PATTERN_STEP_VOLT: f64 = 10.0;

/// Below this a meter is said to show nothing.
const NOTHING_BELOW_VOLT: f64 = 1.0;

fn about(reading: &VoltmeterReading) -> String {
    match reading.display.as_ref() {
        None => "undetermined".to_owned(),
        Some(shown) => match shown.value {
            None => "over range".to_owned(),
            Some(volt) if volt.abs() < NOTHING_BELOW_VOLT => "0 V".to_owned(),
            Some(volt) if volt.abs() < PATTERN_STEP_VOLT / 2.0 => "1 to 5 V".to_owned(),
            Some(volt) => {
                format!("about {} V", (volt / PATTERN_STEP_VOLT).round() * PATTERN_STEP_VOLT)
            }
        },
    }
}

fn lost(reading: &LoadedReading) -> String {
    let bands = [
        (Band::between(0.0, 3.6), "lost under 3.6 V"),
        (Band::between(3.6, 6.0), "lost 3.6 to 6 V"),
        (Band::between(6.0, 12.0), "lost 6 to 12 V"),
    ];
    match reading.drop_volt {
        None => "undetermined".to_owned(),
        Some(volt) => bands
            .iter()
            .find(|(band, _)| volt < band.high)
            .map_or("lost over 12 V", |(_, word)| word)
            .to_owned(),
    }
}
