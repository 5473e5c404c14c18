//! The form of an observation file, and what its figures do to the means.

use std::fmt::Write as _;

use serde::Deserialize;

use crate::circuit::file::Placed;
use crate::condition::catalogue::Priors;
use crate::condition::file::quoted;
use crate::condition::words::speak;
use crate::diagnosis::{Costs, Means};
use crate::instrument::Instrument;

/// What may be written.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, rename = "Observations")]
pub(super) struct FileForm {
    /// Checked by the reader.
    #[serde(rename = "format")]
    _format: Placed<u32>,
    /// What the call-out is called.
    pub(super) name: Placed<String>,
    /// What was complained of, in words.
    #[serde(default)]
    pub(super) complaints: Vec<Placed<String>>,
    /// Instruments at hand: presets, or those in `instruments`.
    pub(super) tools: Option<Vec<Placed<String>>>,
    /// Instruments of one's own.
    #[serde(default)]
    pub(super) instruments: Vec<Instrument>,
    /// Boxes where nothing can be held and that cannot be opened.
    #[serde(default)]
    pub(super) out_of_reach: Vec<Placed<String>>,
    /// Loads that stay as they are.
    #[serde(default)]
    pub(super) leave_alone: Vec<Placed<String>>,
    /// Whether boxes may be opened.
    pub(super) open_boxes: Option<bool>,
    /// Whether breakers may be switched.
    pub(super) switch_breakers: Option<bool>,
    /// What each act costs, in minutes.
    pub(super) minutes: Option<MinutesForm>,
    /// How sure of the place one wants to be.
    pub(super) confidence: Option<Placed<f64>>,
    /// How likely each fault is.
    pub(super) priors: Option<Priors>,
    /// What was seen, in words.
    #[serde(default)]
    pub(super) saw: Vec<Placed<String>>,
}

/// What each act costs.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, rename = "Minutes")]
pub(super) struct MinutesForm {
    detector: Option<Placed<f64>>,
    plug_in: Option<Placed<f64>>,
    meter: Option<Placed<f64>>,
    loaded_test: Option<Placed<f64>>,
    clamp: Option<Placed<f64>>,
    switch_load: Option<Placed<f64>>,
    switch_breaker: Option<Placed<f64>>,
    dead_test: Option<Placed<f64>>,
    open_box: Option<Placed<f64>>,
    walk_100_m: Option<Placed<f64>>,
}

/// An act's name in the file, where it is written and where it is kept.
type Act = (&'static str, fn(&MinutesForm) -> Option<&Placed<f64>>, fn(&mut Costs) -> &mut f64);

const ACTS: [Act; 10] = [
    ("detector", |form| form.detector.as_ref(), |costs| &mut costs.detector_s),
    ("plug_in", |form| form.plug_in.as_ref(), |costs| &mut costs.plug_in_s),
    ("meter", |form| form.meter.as_ref(), |costs| &mut costs.meter_s),
    ("loaded_test", |form| form.loaded_test.as_ref(), |costs| &mut costs.loaded_test_s),
    ("clamp", |form| form.clamp.as_ref(), |costs| &mut costs.clamp_s),
    ("switch_load", |form| form.switch_load.as_ref(), |costs| &mut costs.switch_load_s),
    ("switch_breaker", |form| form.switch_breaker.as_ref(), |costs| &mut costs.switch_breaker_s),
    ("dead_test", |form| form.dead_test.as_ref(), |costs| &mut costs.dead_test_s),
    ("open_box", |form| form.open_box.as_ref(), |costs| &mut costs.open_box_s),
    ("walk_100_m", |form| form.walk_100_m.as_ref(), |costs| &mut costs.walk_100_m_s),
];

const SECONDS_A_MINUTE: f64 = 60.0;

impl FileForm {
    /// Every cost written.
    pub(super) fn minutes(&self) -> impl Iterator<Item = &Placed<f64>> {
        self.minutes.iter().flat_map(|form| ACTS.iter().filter_map(|(_, written, _)| written(form)))
    }

    /// Puts the figures of the file into the means.
    pub(super) fn settle(&self, means: &mut Means) {
        if let Some(form) = &self.minutes {
            for (_, written, kept) in &ACTS {
                if let Some(minutes) = written(form) {
                    *kept(&mut means.costs) = minutes.value * SECONDS_A_MINUTE;
                }
            }
        }
        if let Some(confidence) = &self.confidence {
            means.confidence = confidence.value;
        }
        if let Some(priors) = self.priors {
            means.priors = priors;
        }
        means.may_open_boxes = self.open_boxes.unwrap_or(means.may_open_boxes);
        means.may_switch_breakers = self.switch_breakers.unwrap_or(means.may_switch_breakers);
    }
}

/// What of the means differs from the usual, tools aside, as fields of a file. Priors are not
/// written: they are a house's, not a call-out's.
pub(super) fn means(means: &Means) -> String {
    let usual = Means::default();
    let mut text = String::new();
    let mut names = |field: &str, names: &std::collections::BTreeSet<String>| {
        if !names.is_empty() {
            let names: Vec<String> = names.iter().map(|name| quoted(name)).collect();
            // Writing to a String cannot fail.
            let _ = writeln!(text, "    {field}: [{}],", names.join(", "));
        }
    };
    names("out_of_reach", &means.out_of_reach);
    names("leave_alone", &means.fixed_loads);
    for (field, said, usual) in [
        ("open_boxes", means.may_open_boxes, usual.may_open_boxes),
        ("switch_breakers", means.may_switch_breakers, usual.may_switch_breakers),
    ] {
        if said != usual {
            let _ = writeln!(text, "    {field}: {said},");
        }
    }
    let (mut costs, mut usual_costs) = (means.costs, usual.costs);
    let minutes = ACTS.iter().filter_map(|(name, _, kept)| {
        let (said, usual) = (*kept(&mut costs), *kept(&mut usual_costs));
        let differs = said.total_cmp(&usual).is_ne();
        differs.then(|| format!("{name}: {}", speak::shifted(said / SECONDS_A_MINUTE, 0)))
    });
    let minutes: Vec<String> = minutes.collect();
    if !minutes.is_empty() {
        let _ = writeln!(text, "    minutes: ({}),", minutes.join(", "));
    }
    if means.confidence.total_cmp(&usual.confidence).is_ne() {
        let _ = writeln!(text, "    confidence: {},", speak::shifted(means.confidence, 0));
    }
    text
}
