//! A case's `measurements`, through the instruments: on the netlist of its `elements` with the
//! names as written, and on circuit and condition of its `physical` with ours.

use std::collections::BTreeMap;

use serde::Deserialize;
use serde_json::{Value, json};
use slotwise::instrument::{
    Band, BrightnessBy, Burden, Clamp, Coupled, Display, Indicator, IndicatorLaw, Instrument,
    Jumper, LoadedTest, NonContact, Ohmmeter, Place, PlugTester, Prefix, Preparation, Reading,
    Request, Residual, Shown, Slot, SpannedIndicator, Through, Tolerance, Voltmeter, measure,
    measure_netlist,
};
use slotwise::quantity::{Address, Impedance, Phasor};

use super::case::{Case, Comparison, NONLINEAR_TOLERANCE, Outcome};
use super::{elements, names, physical};

/// On the netlist.
pub fn run_on_elements(case: &Case) -> Outcome {
    let measured = measured(case, str::to_owned, |requests| {
        let netlist = elements::netlist(case)?;
        measure_netlist(&netlist, requests).map_err(|problem| problem.to_string())
    });
    measured.unwrap_or_else(Outcome::Failed)
}

/// On circuit and condition.
pub fn run_on_physical(case: &Case) -> Outcome {
    let measured = measured(case, names::ours, |requests| {
        let (circuit, condition) = physical::circuit_and_condition(case)?;
        measure(&circuit, &condition, requests).map_err(|problem| problem.to_string())
    });
    measured.unwrap_or_else(Outcome::Failed)
}

/// One measurement as the cases write it.
#[derive(Deserialize)]
struct Record {
    id: String,
    #[serde(flatten)]
    kind: Kind,
}

#[derive(Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum Kind {
    Voltmeter {
        from: String,
        to: String,
        burden: Option<BurdenRecord>,
    },
    PlugTester {
        hot: String,
        neutral: String,
        ground: String,
        #[serde(flatten)]
        law: IndicatorRecord,
        r_hn_ohm: f64,
        r_hg_ohm: f64,
        r_ng_ohm: f64,
        lit_at_v: f64,
        dim_at_v: f64,
    },
    NonContact {
        at: String,
        threshold_v: f64,
    },
    NonContactCable {
        near: Vec<NearRecord>,
        c_body_farad: f64,
        threshold_v: f64,
    },
    Clamp {
        around: Vec<AroundRecord>,
    },
    Gfci {
        hot_element: String,
        neutral_element: String,
        trip_a: f64,
    },
    DropTest {
        hot: String,
        neutral: String,
        r_test_ohm: f64,
    },
    Ohmmeter {
        from: String,
        to: String,
        test_current_a: f64,
        #[serde(default)]
        isolate: Vec<String>,
        over_range_ohm: f64,
        #[serde(default)]
        dead_jumpers: Vec<JumperRecord>,
    },
}

#[derive(Deserialize)]
struct BurdenRecord {
    r_ohm: f64,
    #[serde(default)]
    c_farad: f64,
}

#[derive(Deserialize)]
#[serde(tag = "indicator_model", rename_all = "snake_case")]
enum IndicatorRecord {
    Resistor {},
    Neon { v_on_v: f64, r_off_ohm: Option<f64> },
}

#[derive(Deserialize)]
struct NearRecord {
    node: String,
    c_farad: f64,
}

#[derive(Deserialize)]
struct AroundRecord {
    element: String,
    sign: f64,
}

#[derive(Deserialize)]
struct JumperRecord {
    between: (String, String),
    r_ohm: f64,
}

impl Record {
    fn is_nonlinear(&self) -> bool {
        matches!(self.kind, Kind::PlugTester { law: IndicatorRecord::Neon { .. }, .. })
    }

    fn request(&self, named: fn(&str) -> String) -> Request {
        let mut request = Request::new(self.instrument(), self.place(named));
        if let Kind::Ohmmeter { isolate, dead_jumpers, .. } = &self.kind {
            let address = |name: &str| Address::from(named(name));
            let jumper = |x: &JumperRecord| Jumper {
                between: (address(&x.between.0), address(&x.between.1)),
                resistance_ohm: x.r_ohm,
            };
            request.preparation = Preparation {
                isolate: isolate.iter().map(|name| named(name)).collect(),
                jumpers: dead_jumpers.iter().map(jumper).collect(),
                supply_left_on: false,
            };
        }
        request
    }

    fn instrument(&self) -> Instrument {
        let name = self.id.clone();
        match &self.kind {
            Kind::Voltmeter { burden, .. } => Instrument::Voltmeter(Voltmeter {
                name,
                burden: burden.as_ref().map_or(Burden::Ideal, |x| Burden::Parallel {
                    resistance_ohm: x.r_ohm,
                    capacitance_farad: x.c_farad,
                }),
                rise: None,
                display: Display::volts_6000_counts(),
            }),
            Kind::PlugTester { law, r_hn_ohm, r_hg_ohm, r_ng_ohm, lit_at_v, dim_at_v, .. } => {
                let spans = [
                    (("hot", "neutral"), *r_hn_ohm),
                    (("hot", "ground"), *r_hg_ohm),
                    (("neutral", "ground"), *r_ng_ohm),
                ];
                let indicator = |((from, to), ohm): ((&str, &str), f64)| SpannedIndicator {
                    between: (from.to_owned(), to.to_owned()),
                    indicator: Indicator {
                        law: law.law(ohm),
                        brightness_by: BrightnessBy::Volt,
                        dim_from: Band::exactly(*dim_at_v),
                        lit_from: Band::exactly(*lit_at_v),
                    },
                };
                let indicators = spans.map(indicator).to_vec();
                Instrument::PlugTester(PlugTester { name, fits: vec![], indicators, button: None })
            }
            Kind::NonContact { threshold_v, .. } => Instrument::NonContact(NonContact {
                name,
                threshold_volt: Band::exactly(*threshold_v),
                body_farad: 3e-12,
            }),
            Kind::NonContactCable { c_body_farad, threshold_v, .. } => {
                Instrument::NonContact(NonContact {
                    name,
                    threshold_volt: Band::exactly(*threshold_v),
                    body_farad: *c_body_farad,
                })
            }
            Kind::Clamp { .. } => Instrument::Clamp(Clamp { name, display: display(1e17) }),
            Kind::Gfci { trip_a, .. } => {
                Instrument::Residual(Residual { name, trip_ampere: Band::exactly(*trip_a) })
            }
            Kind::DropTest { r_test_ohm, .. } => {
                let load = Impedance::resistance(*r_test_ohm);
                Instrument::LoadedTest(LoadedTest { name, load })
            }
            Kind::Ohmmeter { test_current_a, over_range_ohm, .. } => {
                Instrument::Ohmmeter(Ohmmeter {
                    name,
                    test_ampere: *test_current_a,
                    open_circuit_volt: None,
                    lead_ohm: 0.0,
                    over_range_ohm: *over_range_ohm,
                    tone_below_ohm: None,
                    refuses_above_volt: 0.0,
                    display: display(1e17),
                })
            }
        }
    }

    fn place(&self, named: fn(&str) -> String) -> Place {
        let address = |name: &str| Address::from(named(name));
        let slot = |name: &str, at: &str| Slot { name: name.to_owned(), terminal: address(at) };
        let through = |element: &str, sign: f64| Through { element: named(element), sign };
        match &self.kind {
            Kind::Voltmeter { from, to, .. } | Kind::Ohmmeter { from, to, .. } => {
                Place::Between { from: address(from), to: address(to) }
            }
            Kind::PlugTester { hot, neutral, ground, .. } => Place::Slots {
                slots: vec![slot("hot", hot), slot("neutral", neutral), slot("ground", ground)],
            },
            Kind::DropTest { hot, neutral, .. } => {
                Place::Slots { slots: vec![slot("hot", hot), slot("neutral", neutral)] }
            }
            Kind::NonContact { at, .. } => Place::Near { terminal: address(at), behind: None },
            Kind::NonContactCable { near, .. } => {
                let coupled = |x: &NearRecord| Coupled {
                    terminal: address(&x.node),
                    capacitance_farad: x.c_farad,
                };
                Place::Cable { near: near.iter().map(coupled).collect() }
            }
            Kind::Clamp { around } => {
                let around = around.iter().map(|x| through(&x.element, x.sign));
                Place::Around { conductors: around.collect() }
            }
            Kind::Gfci { hot_element, neutral_element, .. } => Place::Around {
                conductors: vec![through(hot_element, 1.0), through(neutral_element, 1.0)],
            },
        }
    }
}

/// One range wide enough for anything.
fn display(full_scale: f64) -> Display {
    Display::new("", &[(full_scale, 1e-3, Prefix::One)], Tolerance::NONE)
}

impl IndicatorRecord {
    fn law(&self, ohm: f64) -> IndicatorLaw {
        match *self {
            Self::Resistor {} => IndicatorLaw::Resistance { resistance_ohm: ohm },
            Self::Neon { v_on_v, r_off_ohm } => IndicatorLaw::Threshold {
                threshold_volt: Band::exactly(v_on_v),
                off_ohm: r_off_ohm.unwrap_or(f64::INFINITY),
                series_ohm: ohm,
            },
        }
    }
}

fn measured(
    case: &Case,
    named: fn(&str) -> String,
    measure: impl FnOnce(&[Request]) -> Result<Vec<Reading>, String>,
) -> Result<Outcome, String> {
    let records: Vec<Record> = serde_json::from_value(case.json["measurements"].clone())
        .map_err(|error| format!("measurements: {error}"))?;
    if records.is_empty() && case.published_answers().is_empty() {
        return Ok(Outcome::Skipped("the case measures nothing".into()));
    }
    let requests: Vec<Request> = records.iter().map(|record| record.request(named)).collect();
    let readings = measure(&requests)?;
    // Under the same names as the case, whatever the order.
    let found: BTreeMap<&str, Value> = records
        .iter()
        .zip(&readings)
        .map(|(record, reading)| (record.id.as_str(), as_written(&reading.shown)))
        .collect();
    let (mut linear, mut nonlinear) = (Comparison::default(), Comparison::default());
    for record in &records {
        let expected = &case.json["expected"]["measurements"][&record.id];
        if !expected.is_object() {
            return Err(format!("nothing is expected of `{}`", record.id));
        }
        let comparison = if record.is_nonlinear() { &mut nonlinear } else { &mut linear };
        comparison.value(&record.id, expected, &found[record.id.as_str()]);
    }
    for answer in case.published_answers() {
        let id = answer["measurement"].as_str().unwrap_or_default();
        linear.published(answer, found.get(id).unwrap_or(&Value::Null));
    }
    linear.is_within(case.tolerance())?;
    nonlinear.is_within(NONLINEAR_TOLERANCE)?;
    Ok(Outcome::Passed(linear.and(nonlinear)))
}

/// What is shown, in the words of the cases.
fn as_written(shown: &Shown) -> Value {
    match shown {
        Shown::Voltmeter(shown) => json!({
            "reading": optional(shown.voltage_volt),
            "meter_current_a": phasor(shown.meter_current_ampere),
        }),
        Shown::PlugTester(shown) => {
            let indicator = |place: usize| {
                let reading = &shown.indicators[place];
                let mut value = optional(reading.voltage_volt);
                value["state"] = reading.state.into();
                value
            };
            json!({ "hn": indicator(0), "hg": indicator(1), "ng": indicator(2) })
        }
        Shown::NonContact(shown) => {
            json!({ "potential": optional(shown.potential_volt), "alarm": shown.alarm })
        }
        Shown::Clamp(shown) => json!({ "reading_a": phasor(shown.current_ampere) }),
        Shown::Residual(shown) => {
            json!({ "imbalance_a": phasor(shown.residual_ampere), "trips": shown.trips })
        }
        Shown::LoadedTest(shown) => json!({
            "unloaded": optional(shown.unloaded_volt),
            "loaded": optional(shown.loaded_volt),
            "test_current_a": phasor(shown.test_current_ampere),
            "drop_v": shown.drop_volt,
            "drop_percent": shown.drop_percent,
            "apparent_source_impedance_ohm": shown.apparent_ohm,
            "true_source_impedance_ohm": optional(shown.true_ohm),
        }),
        Shown::Ohmmeter(shown) => json!({
            "resistance_ohm": shown.resistance_ohm,
            "display": if shown.display.over_range { "OL" } else { "value" },
        }),
        other => json!({ "not a kind of the cases": format!("{other:?}") }),
    }
}

fn phasor(phasor: Phasor) -> Value {
    json!({ "re": phasor.re, "im": phasor.im, "rms": phasor.magnitude() })
}

fn optional(value: Option<Phasor>) -> Value {
    value.map_or(Value::Null, phasor)
}
