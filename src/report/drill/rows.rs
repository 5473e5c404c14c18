//! Drills as data: a row a reading, a row a drill, and the manifest of a data set.
//!
//! `docs/drill-dataset.schema.json` is the JSON Schema of all three.

use crate::drill::{
    Age, Band, Drill, DrillProblem, DrillReading, Family, GENERATOR, Misleading, Wanted,
};

use super::names;

/// Number of the form of a data set; raised when a key is renamed, removed or changes meaning.
pub const DATASET_FORMAT: u32 = 1;

/// One reading of one drill, flat, so that it is a line of JSON or of CSV.
///
/// ```
/// use slotwise::drill::{Drill, Family, Wanted};
/// use slotwise::report::ReadingRow;
/// let family = Family::read(include_str!("../../../circuits/families/workshops.ron")).unwrap();
/// let drill = Drill::draw(&family, 7, 0, &Wanted::default()).unwrap();
/// let rows = ReadingRow::of(&drill).unwrap();
/// assert!(rows.iter().all(|row| row.drill == 0 && !row.kinds.is_empty()));
/// ```
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReadingRow {
    /// Number of the drill under its seed.
    pub drill: u64,
    /// Kinds of the hidden faults, as in docs/faults.md, with `;` between them.
    pub kinds: String,
    /// The hidden faults in words, with `;` between them.
    pub faults: String,
    /// How the loads stood: `loads as described`, `all loads off`, `all loads on`.
    pub loads: String,
    /// The instrument: the name of its preset.
    pub tool: String,
    /// The receptacle.
    pub at: String,
    /// The slots it was held to, as `hot-neutral` or `hot`; none where it takes them all.
    pub between: Option<String>,
    /// What it showed, in words.
    pub shows: String,
    /// The figure shown, if there is one: volts of a meter, volts lost in a loaded test; one
    /// decimal.
    pub value: Option<f64>,
    /// The unit of that figure.
    pub unit: Option<&'static str>,
}

/// One drill: circuit, complaint and key.
///
/// ```
/// use slotwise::drill::{Drill, Family, Wanted};
/// use slotwise::report::DrillRow;
/// let family = Family::read(include_str!("../../../circuits/families/workshops.ron")).unwrap();
/// let row = DrillRow::of(0, &Drill::draw(&family, 7, 0, &Wanted::default()));
/// assert_eq!(row.problem, None);
/// ```
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DrillRow {
    /// Number of the drill under its seed.
    pub drill: u64,
    /// Why there is no such drill: then all that follows is empty.
    pub problem: Option<String>,
    /// Place and kind of building.
    pub title: String,
    /// When it was wired.
    pub age: Option<Age>,
    /// The year of that.
    pub year: u16,
    /// What the customer says.
    pub complaint: Vec<String>,
    /// Kinds of the hidden faults.
    pub kinds: Vec<&'static str>,
    /// The hidden faults in words.
    pub faults: Vec<String>,
    /// The boxes a person would open for them.
    pub places: Vec<String>,
    /// How misleading the first readings are.
    pub misleading: Option<Misleading>,
    /// The circuit as the student knows it, as a circuit file.
    pub circuit_file: String,
}

/// What a data set is.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Manifest {
    /// Number of this form: 1.
    pub format: u32,
    /// The program.
    pub tool: &'static str,
    /// Its version.
    pub tool_version: &'static str,
    /// Number of the way in which drills are drawn.
    pub generator: u32,
    /// The family's name.
    pub family: String,
    /// The seed.
    pub seed: u64,
    /// Number of the first drill.
    pub first: u64,
    /// Number of drills.
    pub count: u64,
    /// How many faults each has, where that was asked for.
    pub faults: Option<usize>,
    /// Kinds of fault that were asked for; empty for all but settings.
    pub kinds: Vec<&'static str>,
    /// Whether each has two faults of which one hides the other.
    pub hiding: bool,
    /// How hard each is, where that was asked for.
    pub difficulty: Option<Band>,
    /// The files of readings, in order.
    pub readings: Vec<String>,
    /// The files of drills, in order.
    pub drills: Vec<String>,
    /// What every output of this program says once.
    pub caution: &'static str,
}

impl ReadingRow {
    /// Every reading of a drill.
    ///
    /// # Errors
    ///
    /// As [`Drill::readings`].
    pub fn of(drill: &Drill) -> Result<Vec<Self>, DrillProblem> {
        let kinds: Vec<&str> = drill.faults.iter().map(|fault| fault.kind.code()).collect();
        let (kinds, faults) = (kinds.join(";"), sentences(drill).join(";"));
        let row = |reading: DrillReading| Self {
            drill: drill.number,
            kinds: kinds.clone(),
            faults: faults.clone(),
            loads: reading.loads,
            tool: reading.tool,
            at: reading.at,
            between: reading.between,
            shows: reading.shows,
            value: reading.value,
            unit: reading.unit,
        };
        Ok(drill.readings()?.into_iter().map(row).collect())
    }
}

impl DrillRow {
    /// The row of the drill of this number, or of why there is none.
    pub fn of(number: u64, drawn: &Result<Drill, DrillProblem>) -> Self {
        let drill = match drawn {
            Ok(drill) => drill,
            Err(problem) => {
                let problem = Some(problem.to_string());
                return Self { drill: number, problem, ..Self::default() };
            }
        };
        let mut places: Vec<String> =
            drill.faults.iter().flat_map(|fault| fault.places.clone()).collect();
        places.sort();
        places.dedup();
        Self {
            drill: number,
            problem: None,
            title: drill.title.clone(),
            age: Some(drill.age),
            year: drill.year,
            complaint: (drill.complaints.iter())
                .map(|said| names::say(&drill.circuit, said))
                .collect(),
            kinds: drill.faults.iter().map(|fault| fault.kind.code()).collect(),
            faults: sentences(drill),
            places,
            misleading: Some(drill.misleading),
            circuit_file: drill.circuit_file.clone(),
        }
    }
}

impl Manifest {
    /// The manifest of the drills from `first` on, `count` of them, with the names of the files
    /// they are in.
    ///
    /// ```
    /// use slotwise::drill::{Family, Wanted};
    /// use slotwise::report::Manifest;
    /// let text = include_str!("../../../circuits/families/workshops.ron");
    /// let family = Family::read(text).unwrap();
    /// let files = (vec!["readings-0-9.csv".into()], vec!["drills-0-9.jsonl".into()]);
    /// let manifest = Manifest::new(&family, 7, (0, 10), &Wanted::default(), files);
    /// assert_eq!(manifest.count, 10);
    /// ```
    pub fn new(
        family: &Family,
        seed: u64,
        (first, count): (u64, u64),
        wanted: &Wanted,
        (readings, drills): (Vec<String>, Vec<String>),
    ) -> Self {
        Self {
            format: DATASET_FORMAT,
            tool: env!("CARGO_PKG_NAME"),
            tool_version: env!("CARGO_PKG_VERSION"),
            generator: GENERATOR,
            family: family.name().to_owned(),
            seed,
            first,
            count,
            faults: wanted.faults,
            kinds: wanted.kinds.iter().map(|kind| kind.code()).collect(),
            hiding: wanted.hiding,
            difficulty: wanted.band,
            readings,
            drills,
            caution: crate::report::CAUTION,
        }
    }
}

fn sentences(drill: &Drill) -> Vec<String> {
    drill.faults.iter().map(|fault| fault.sentence(&drill.circuit)).collect()
}

/// JSON Schema of a data set: what a row of readings, a row of drills and a manifest hold;
/// `docs/drill-dataset.schema.json` is a copy.
#[cfg(feature = "schema")]
pub fn dataset_schema() -> String {
    let mut generator = schemars::generate::SchemaSettings::draft2020_12().into_generator();
    let any_of = [
        generator.subschema_for::<ReadingRow>(),
        generator.subschema_for::<DrillRow>(),
        generator.subschema_for::<Manifest>(),
    ];
    let mut schema = serde_json::json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A data set of drills: a row of readings, a row of drills, a manifest",
        "anyOf": any_of,
        "$defs": generator.take_definitions(true),
    });
    without_examples(&mut schema);
    // A schema is made of strings, numbers and lists, which serde_json can always write.
    serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n"
}

/// Descriptions without the examples in Rust that follow them in the source.
#[cfg(feature = "schema")]
fn without_examples(value: &mut serde_json::Value) {
    use serde_json::Value;
    match value {
        Value::Object(members) => {
            for (name, member) in members {
                match member {
                    Value::String(text) if name == "description" => {
                        let end = text.find("\n\n```").unwrap_or(text.len());
                        text.truncate(end);
                    }
                    member => without_examples(member),
                }
            }
        }
        Value::Array(items) => items.iter_mut().for_each(without_examples),
        _ => {}
    }
}
