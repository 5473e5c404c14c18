//! Reading a case and comparing with what it expects.

use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};

use serde_json::Value;
use slotwise::quantity::Phasor;

/// Relative error allowed where everything is linear: the contract of `docs/accuracy.md`.
pub const LINEAR_TOLERANCE: f64 = 1e-9;
/// The same where something is nonlinear; the cases state their answers for it.
pub const NONLINEAR_TOLERANCE: f64 = 1e-6;
/// Voltages below this count as this when an error is made relative.
pub const VOLTAGE_FLOOR_VOLT: f64 = 1e-3;
/// Currents below this count as this when an error is made relative.
pub const CURRENT_FLOOR_AMPERE: f64 = 1e-6;
/// Resistances below this count as this when an error is made relative.
pub const RESISTANCE_FLOOR_OHM: f64 = 1e-6;

/// Angles are printed to a tenth of a degree, from values printed to two digits.
const PRINTED_DEGREES: f64 = 0.5;

/// Where the cases are.
pub fn directory() -> PathBuf {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    if let Some(named) = std::env::var_os("SLOTWISE_CASES") {
        return PathBuf::from(named);
    }
    let shared = root.join("../shared/cases");
    if shared.is_dir() { shared } else { root.join("tests/cases") }
}

/// Every case of a directory, by name.
pub fn files(directory: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(directory).into_iter().flatten().flatten();
    let mut files: Vec<_> = entries
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "json"))
        .collect();
    files.sort();
    files
}

/// One case as written.
pub struct Case {
    pub json: Value,
}

impl Case {
    pub fn read(path: &Path) -> Result<Self, String> {
        let text = std::fs::read_to_string(path).map_err(|error| error.to_string())?;
        let json = serde_json::from_str(&text).map_err(|error| error.to_string())?;
        Ok(Self { json })
    }

    /// Frequency in hertz.
    pub fn frequency_hz(&self) -> Result<f64, String> {
        let frequency = &self.json["physical"]["frequency_hz"];
        frequency.as_f64().ok_or_else(|| "no frequency".to_owned())
    }

    /// Expected potentials by node; `None` is undetermined.
    pub fn terminals(&self) -> BTreeMap<&str, Option<Phasor>> {
        named_phasors(&self.json["expected"]["terminals"])
    }

    /// Expected currents by element.
    pub fn element_currents(&self) -> BTreeMap<&str, Option<Phasor>> {
        named_phasors(&self.json["expected"]["element_currents"])
    }

    /// Terminals at which something is measured.
    pub fn probed(&self) -> impl Iterator<Item = &str> {
        const FIELDS: [&str; 6] = ["from", "to", "hot", "neutral", "ground", "at"];
        let measurements = self.json["measurements"].as_array().into_iter().flatten();
        measurements.flat_map(|m| FIELDS.iter().filter_map(|field| m[*field].as_str()))
    }

    /// Printed answers of a published example.
    pub fn published_answers(&self) -> &[Value] {
        self.json["published"]["answers"].as_array().map_or(&[], Vec::as_slice)
    }

    /// Whether any element is nonlinear.
    pub fn is_nonlinear(&self) -> bool {
        const LINEAR: [&str; 5] = ["impedance", "capacitor", "source", "open", "current_source"];
        let elements = self.json["elements"].as_array().into_iter().flatten();
        elements.into_iter().any(|e| !e["kind"].as_str().is_some_and(|k| LINEAR.contains(&k)))
    }

    /// The relative error allowed.
    pub fn tolerance(&self) -> f64 {
        if self.is_nonlinear() { NONLINEAR_TOLERANCE } else { LINEAR_TOLERANCE }
    }
}

/// A phasor written as `{re, im}` or `[re, im]`; `None` where it is null.
pub fn phasor(value: &Value) -> Option<Phasor> {
    let (re, im) = match value {
        Value::Array(parts) => (parts.first()?.as_f64()?, parts.get(1)?.as_f64()?),
        _ => (value["re"].as_f64()?, value["im"].as_f64()?),
    };
    Some(Phasor::new(re, im))
}

fn named_phasors(object: &Value) -> BTreeMap<&str, Option<Phasor>> {
    let entries = object.as_object().into_iter().flatten();
    entries.map(|(name, value)| (name.as_str(), phasor(value))).collect()
}

/// What became of one part of a case.
pub enum Outcome {
    Passed(Comparison),
    Failed(String),
    /// For parts that this version of the test cannot run yet.
    #[allow(dead_code)]
    Skipped(String),
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Passed(comparison) => write!(f, "ok      {comparison}"),
            Self::Failed(why) => write!(f, "FAILED  {why}"),
            Self::Skipped(why) => write!(f, "skipped {why}"),
        }
    }
}

/// The worst of many relative errors, and what disagreed outright.
#[derive(Default)]
pub struct Comparison {
    n_compared: usize,
    worst: f64,
    worst_at: String,
    disagreements: Vec<String>,
}

impl Comparison {
    /// Compares a potential in volts.
    pub fn potential(&mut self, name: &str, expected: Option<Phasor>, found: Option<Phasor>) {
        self.phasor(name, expected, found, VOLTAGE_FLOOR_VOLT);
    }

    /// Compares a current in amperes.
    pub fn current(&mut self, name: &str, expected: Option<Phasor>, found: Option<Phasor>) {
        self.phasor(name, expected, found, CURRENT_FLOOR_AMPERE);
    }

    fn phasor(&mut self, name: &str, expected: Option<Phasor>, found: Option<Phasor>, floor: f64) {
        self.n_compared += 1;
        match (expected, found) {
            (Some(expected), Some(found)) => {
                let error = (found - expected).magnitude() / expected.magnitude().max(floor);
                if error.is_nan() || error > self.worst {
                    self.worst = error;
                    self.worst_at = name.to_owned();
                }
            }
            (None, None) => {}
            (Some(_), None) => self.disagree(format!("{name} is undetermined, should not be")),
            (None, Some(_)) => self.disagree(format!("{name} should be undetermined, is not")),
        }
    }

    /// Compares whatever is expected with what was found under the same names: phasors and
    /// numbers by size, with the floor of their unit; words, truth and nothing exactly.
    pub fn value(&mut self, name: &str, expected: &Value, found: &Value) {
        let floor = if name.ends_with("_a") {
            CURRENT_FLOOR_AMPERE
        } else if name.ends_with("_ohm") {
            RESISTANCE_FLOOR_OHM
        } else {
            VOLTAGE_FLOOR_VOLT
        };
        match expected {
            Value::Object(fields) => {
                let is_phasor = fields.contains_key("re");
                if is_phasor {
                    self.phasor(name, phasor(expected), phasor(found), floor);
                }
                let rest = |key: &str| !(is_phasor && ["re", "im", "rms"].contains(&key));
                for (key, expected) in fields.iter().filter(|(key, _)| rest(key)) {
                    self.value(&format!("{name} {key}"), expected, &found[key]);
                }
            }
            Value::Number(number) => {
                let real = |value: Option<f64>| value.map(|value| Phasor::new(value, 0.0));
                self.phasor(name, real(number.as_f64()), real(found.as_f64()), floor);
            }
            _ => {
                self.n_compared += 1;
                if expected != found {
                    self.disagree(format!("{name} is {found}, should be {expected}"));
                }
            }
        }
    }

    /// Compares a printed answer, to the digits it is printed with.
    pub fn published(&mut self, answer: &Value, measured: &Value) {
        self.n_compared += 1;
        let name = answer["quantity"].as_str().unwrap_or("published answer");
        let path = answer["field"].as_str().unwrap_or_default();
        let field = path.split('.').fold(measured, |value, key| &value[key]);
        let (Some(printed), Some(tolerance), Some(found)) = (
            answer["printed_value"].as_f64(),
            answer["relative_tolerance"].as_f64(),
            field.as_f64(),
        ) else {
            return self.disagree(format!("{name} was not measured: {answer}"));
        };
        if (found - printed)
            .abs()
            .partial_cmp(&(tolerance * printed.abs()))
            .is_none_or(std::cmp::Ordering::is_gt)
        {
            self.disagree(format!("{name} is {found}, printed {printed}"));
        }
        if let Some(printed) = answer["printed_angle_deg"].as_f64() {
            let parent = path.rsplit_once('.').map_or(path, |(parent, _)| parent);
            let found = phasor(parent.split('.').fold(measured, |value, key| &value[key]));
            let apart = found.map_or(f64::NAN, |found| {
                (found.degrees() - printed + 180.0).rem_euclid(360.0) - 180.0
            });
            if apart.abs().partial_cmp(&PRINTED_DEGREES).is_none_or(std::cmp::Ordering::is_gt) {
                self.disagree(format!("{name} is {apart} degrees from the printed {printed}"));
            }
        }
    }

    /// Why it fails at a tolerance, if it does.
    pub fn is_within(&self, tolerance: f64) -> Result<(), String> {
        match self.disagreements.first() {
            Some(first) => Err(format!("{first} ({} disagreements)", self.disagreements.len())),
            None if self.worst <= tolerance => Ok(()),
            None => Err(self.to_string()),
        }
    }

    /// The worse of two, of both together.
    pub fn and(self, other: Self) -> Self {
        let n_compared = self.n_compared + other.n_compared;
        let worse = if other.worst > self.worst { other } else { self };
        Self { n_compared, ..worse }
    }

    /// Notes a disagreement that has no size.
    pub fn disagree(&mut self, what: String) {
        self.disagreements.push(what);
    }

    /// Passed or failed, at a tolerance.
    pub fn outcome(self, tolerance: f64) -> Outcome {
        if let Some(first) = self.disagreements.first() {
            let n = self.disagreements.len();
            return Outcome::Failed(format!("{first} ({n} disagreements)"));
        }
        if self.n_compared == 0 {
            return Outcome::Failed("nothing to compare".to_owned());
        }
        if self.worst <= tolerance {
            Outcome::Passed(self)
        } else {
            Outcome::Failed(self.to_string())
        }
    }
}

impl fmt::Display for Comparison {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "worst {:.1e} of {} at {}", self.worst, self.n_compared, self.worst_at)
    }
}
