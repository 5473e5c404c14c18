//! A case from its flat `elements`, through the netlist.

use std::collections::BTreeMap;

use serde::Deserialize;
use slotwise::netlist::{Law, Netlist, NodeId, Role};
use slotwise::quantity::{Address, Impedance, Phasor};
use slotwise::solution::{Solution, solve};

use super::case::{Case, Comparison, Outcome};

/// Builds, solves and compares potentials and element currents.
pub fn run(case: &Case) -> Outcome {
    let netlist = match netlist(case) {
        Ok(netlist) => netlist,
        Err(why) => return Outcome::Failed(why),
    };
    match solve(&netlist) {
        Ok(solution) => compare(case, &netlist, &solution).outcome(case.tolerance()),
        Err(refusal) => Outcome::Failed(refusal.to_string()),
    }
}

fn compare(case: &Case, netlist: &Netlist, solution: &Solution) -> Comparison {
    let mut comparison = Comparison::default();
    for (name, expected) in case.terminals() {
        match netlist.find_node(&Address::from(name)) {
            Some(node) => comparison.potential(name, expected, solution.potential(node)),
            None => comparison.disagree(format!("there is no node {name}")),
        }
    }
    for (name, expected) in case.element_currents() {
        match netlist.find_element(name) {
            Some(element) => {
                comparison.current(name, expected, Some(solution.current(element)));
            }
            None => comparison.disagree(format!("there is no element {name}")),
        }
    }
    comparison
}

/// One two-ended element as the cases write it.
#[derive(Deserialize)]
struct Record {
    id: String,
    a: String,
    b: String,
    #[serde(flatten)]
    kind: Kind,
}

#[derive(Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum Kind {
    Impedance {
        r_ohm: f64,
        #[serde(default)]
        x_ohm: f64,
    },
    Capacitor {
        c_farad: f64,
    },
    Source {
        emf_v: (f64, f64),
        #[serde(default)]
        r_ohm: f64,
        #[serde(default)]
        x_ohm: f64,
    },
    Open {},
    ConstantPower {
        p_w: f64,
        #[serde(default)]
        q_var: f64,
        v_min_v: f64,
    },
    Incandescent {
        p_rated_w: f64,
        v_rated_v: f64,
        cold_fraction: f64,
        exponent: f64,
    },
    ThresholdLamp {
        #[serde(alias = "v_on")]
        v_on_v: f64,
        #[serde(default, alias = "r_off")]
        r_off_ohm: Option<f64>,
        #[serde(alias = "r_series", alias = "r_on_ohm", alias = "r_ohm")]
        r_series_ohm: f64,
    },
}

impl Kind {
    fn law(&self) -> Law {
        match *self {
            Self::Impedance { r_ohm, x_ohm } => Law::Impedance(Impedance::new(r_ohm, x_ohm)),
            Self::Capacitor { c_farad } => Law::Capacitor { capacitance_farad: c_farad },
            Self::Source { emf_v: (re, im), r_ohm, x_ohm } => Law::Source {
                emf_volt: Phasor::new(re, im),
                impedance: Impedance::new(r_ohm, x_ohm),
            },
            Self::Open {} => Law::Open,
            Self::ConstantPower { p_w, q_var, v_min_v } => {
                Law::ConstantPower { active_watt: p_w, reactive_var: q_var, cut_out_volt: v_min_v }
            }
            Self::Incandescent { p_rated_w, v_rated_v, cold_fraction, exponent } => Law::Filament {
                rated_watt: p_rated_w,
                rated_volt: v_rated_v,
                cold_fraction,
                exponent,
            },
            Self::ThresholdLamp { v_on_v, r_off_ohm, r_series_ohm } => Law::ThresholdLamp {
                threshold_volt: v_on_v,
                off_ohm: r_off_ohm.unwrap_or(f64::INFINITY),
                series_ohm: r_series_ohm,
            },
        }
    }
}

pub fn netlist(case: &Case) -> Result<Netlist, String> {
    let mut netlist = Netlist::new(case.frequency_hz()?);
    let records: Vec<Record> = serde_json::from_value(case.json["elements"].clone())
        .map_err(|error| format!("elements: {error}"))?;
    let mut nodes: BTreeMap<String, NodeId> = BTreeMap::new();
    for Record { id, a, b, kind } in records {
        let [a, b] = [a, b].map(|name| {
            let address = Address::from(name.as_str());
            *nodes.entry(name).or_insert_with(|| netlist.node(&address))
        });
        netlist.add(id, a, b, Role::Lumped, kind.law()).map_err(|error| error.to_string())?;
    }
    // A slot that nothing lands on is in no element; it can be probed all the same.
    for name in case.probed() {
        netlist.node(&Address::from(name));
    }
    Ok(netlist)
}
