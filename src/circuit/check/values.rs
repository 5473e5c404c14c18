//! Values that no part can have.

use crate::circuit::file::figure::readable;
use crate::circuit::{
    BranchCircuit, Cable, Description, Device, DeviceKind, Load, LoadKind, Lumped, LumpedKind,
    PartKind, RangeOf, Sensing,
};
use crate::quantity::{Impedance, Phasor};

use super::{At, Found};

pub(super) fn check(description: &Description, found: &mut Found) {
    let whole = At::new(PartKind::Circuit, "", "frequency_hz");
    found.not_negative(whole, "frequency", description.frequency_hz, "hertz");
    supply(description, found);
    description.branch_circuits.iter().for_each(|part| branch_circuit(part, found));
    description.cables.iter().for_each(|part| cable(part, found));
    description.devices.iter().for_each(|part| device(part, found));
    for link in &description.links {
        let at = At::new(PartKind::Link, &link.id, "resistance_ohm");
        found.not_negative(at, "resistance", link.resistance_ohm, "ohm");
    }
    description.loads.iter().for_each(|part| load(part, found));
    description.lumped.iter().for_each(|part| lumped(part, found));
    for range in &description.ranges {
        let id = match &range.of {
            RangeOf::CableLengthMetre(id) | RangeOf::LoadWatt(id) => id.as_str(),
            RangeOf::SupplyScale => "supply",
        };
        let at = At::new(PartKind::Range, id, "low");
        found.positive(at, "lower end", range.low, "");
        found.positive(At { property: "high", ..at }, "upper end", range.high, "");
        if range.low > range.high {
            let (low, high) = (readable(range.low), readable(range.high));
            let what = format!("it runs from {low} down to {high}");
            found.add(at, range.low, what, "the lower end first");
        }
    }
}

impl Found {
    fn not_negative(&mut self, at: At<'_>, name: &str, value: f64, unit: &str) {
        if !(value.is_finite() && value >= 0.0) {
            self.bad_value(at, name, value, unit, "zero or more, and finite");
        }
    }

    fn positive(&mut self, at: At<'_>, name: &str, value: f64, unit: &str) {
        if !(value.is_finite() && value > 0.0) {
            self.bad_value(at, name, value, unit, "more than zero, and finite");
        }
    }

    fn finite(&mut self, at: At<'_>, name: &str, value: f64, unit: &str) {
        if !value.is_finite() {
            self.bad_value(at, name, value, unit, "a finite number");
        }
    }

    fn impedance(&mut self, at: At<'_>, name: &str, value: Impedance) {
        self.not_negative(at, &format!("{name} resistance"), value.resistance_ohm, "ohm");
        self.finite(at, &format!("{name} reactance"), value.reactance_ohm, "ohm");
    }

    fn phasor(&mut self, at: At<'_>, name: &str, value: Phasor, unit: &str) {
        self.finite(at, name, value.re, unit);
        self.finite(at, name, value.im, unit);
    }

    fn bad_value(&mut self, at: At<'_>, name: &str, value: f64, unit: &str, expected: &str) {
        let said = readable(value);
        let space = if unit.is_empty() { "" } else { " " };
        self.add(at, value, format!("its {name} is {said}{space}{unit}"), expected);
    }
}

fn supply(description: &Description, found: &mut Found) {
    for winding in &description.supply.windings {
        let at = At::new(PartKind::Winding, &winding.id, "emf_volt");
        found.phasor(at, "voltage", winding.emf_volt, "volt");
        found.impedance(At { property: "impedance", ..at }, "own", winding.impedance);
    }
    for coupling in &description.supply.couplings {
        let at = At::new(PartKind::Coupling, &coupling.first, "mutual");
        found.finite(at, "mutual resistance", coupling.mutual.resistance_ohm, "ohm");
        found.finite(at, "mutual reactance", coupling.mutual.reactance_ohm, "ohm");
    }
    for conductor in &description.supply.conductors {
        let at = At::new(PartKind::ServiceConductor, &conductor.id, "impedance");
        found.impedance(at, "series", conductor.impedance);
    }
    for electrode in &description.supply.electrodes {
        let at = At::new(PartKind::Electrode, &electrode.id, "resistance_ohm");
        found.not_negative(at, "resistance to earth", electrode.resistance_ohm, "ohm");
    }
    for bond in &description.supply.bonds {
        let at = At::new(PartKind::Bond, &bond.id, "resistance_ohm");
        found.not_negative(at, "resistance", bond.resistance_ohm, "ohm");
    }
}

fn branch_circuit(circuit: &BranchCircuit, found: &mut Found) {
    let at = At::new(PartKind::BranchCircuit, &circuit.id, "breaker");
    let breaker = &circuit.breaker;
    found.not_negative(at, "breaker's resistance", breaker.resistance_ohm, "ohm");
    for (name, value) in
        [("rating", breaker.rating_ampere), ("residual trip", breaker.residual_trip_ampere)]
    {
        if let Some(value) = value {
            found.positive(at, &format!("breaker's {name}"), value, "ampere");
        }
    }
    for (property, name, landing) in [
        ("neutral_landing", "neutral", &circuit.neutral_landing),
        ("ground_landing", "ground", &circuit.ground_landing),
    ] {
        if let Some((_, resistance_ohm)) = landing {
            let at = At { property, ..at };
            found.not_negative(at, &format!("{name} landing"), *resistance_ohm, "ohm");
        }
    }
}

fn cable(cable: &Cable, found: &mut Found) {
    let at = At::new(PartKind::Cable, &cable.id, "length_m");
    found.positive(at, "length", cable.length_m, "metre");
    for conductor in &cable.conductors {
        let at = At { property: "conductors", ..at };
        found.impedance(at, &format!("{} conductor's", conductor.name), conductor.impedance_per_m);
        if let Some(ampere) = conductor.ampacity_ampere {
            found.positive(
                at,
                &format!("{} conductor's ampacity", conductor.name),
                ampere,
                "ampere",
            );
        }
    }
    for pair in &cable.capacitance_farad_per_m {
        let at = At { property: "capacitance_farad_per_m", ..at };
        let name = format!("{}-{} capacitance", pair.between.0, pair.between.1);
        found.not_negative(at, &name, pair.value, "farad per metre");
    }
    for pair in &cable.insulation_ohm_m {
        let at = At { property: "insulation_ohm_m", ..at };
        let name = format!("{}-{} insulation", pair.between.0, pair.between.1);
        found.positive(at, &name, pair.value, "ohm metre");
    }
    for landing in cable.ends.iter().flatten() {
        let at = At { property: "ends", ..at };
        let name = format!("{} contact", landing.conductor);
        found.not_negative(at, &name, landing.contact_ohm, "ohm");
    }
}

fn device(device: &Device, found: &mut Found) {
    let at = At::new(PartKind::Device, &device.id, "kind");
    match &device.kind {
        DeviceKind::Receptacle { .. } => {}
        DeviceKind::Duplex { hot_tab, neutral_tab, .. } => {
            for (name, tab) in [("hot tab", hot_tab), ("neutral tab", neutral_tab)] {
                found.not_negative(at, &format!("{name}'s resistance"), tab.resistance_ohm, "ohm");
                found.not_negative(at, &format!("{name}'s gap"), tab.gap_farad, "farad");
            }
        }
        DeviceKind::Switch { poles, closed_ohm, gap_farad, .. } => {
            if *poles == 0 {
                found.add(at, poles, "it has no poles".into(), "one pole or more");
            }
            contacts(at, *closed_ohm, *gap_farad, found);
        }
        DeviceKind::ThreeWay { position, closed_ohm, gap_farad } => {
            if !matches!(position, 1 | 2) {
                let what = format!("it stands in position {position}");
                found.add(at, position, what, "position 1 or 2");
            }
            contacts(at, *closed_ohm, *gap_farad, found);
        }
        DeviceKind::FourWay { closed_ohm, gap_farad, .. } => {
            contacts(at, *closed_ohm, *gap_farad, found);
        }
        DeviceKind::Protective { poles, closed_ohm, gap_farad, sensing, .. } => {
            if poles.is_empty() {
                found.add(at, "", "it has no poles".into(), "one pole or more");
            }
            contacts(at, *closed_ohm, *gap_farad, found);
            sensing_values(at, sensing, found);
        }
    }
}

fn contacts(at: At<'_>, closed_ohm: f64, gap_farad: f64, found: &mut Found) {
    found.not_negative(at, "closed contact", closed_ohm, "ohm");
    found.not_negative(at, "open contact's gap", gap_farad, "farad");
}

fn sensing_values(at: At<'_>, sensing: &Sensing, found: &mut Found) {
    for (name, unit, value) in [
        ("residual trip", "ampere", sensing.residual_trip_ampere),
        ("grounded-neutral threshold", "ohm", sensing.grounded_neutral_ohm),
        ("rating", "ampere", sensing.rating_ampere),
    ] {
        if let Some(value) = value {
            found.positive(at, name, value, unit);
        }
    }
}

fn load(load: &Load, found: &mut Found) {
    let at = At::new(PartKind::Load, &load.id, "kind");
    load_kind(at, load.kind, found);
}

fn load_kind(at: At<'_>, kind: LoadKind, found: &mut Found) {
    match kind {
        LoadKind::Resistive { rated_watt, rated_volt } => {
            found.positive(at, "rated power", rated_watt, "watt");
            found.positive(at, "rated voltage", rated_volt, "volt");
        }
        LoadKind::Impedance(impedance) => found.impedance(at, "own", impedance),
        LoadKind::Capacitor { capacitance_farad } => {
            found.not_negative(at, "capacitance", capacitance_farad, "farad");
        }
        LoadKind::Filament { rated_watt, rated_volt, cold_fraction, exponent } => {
            found.positive(at, "rated power", rated_watt, "watt");
            found.positive(at, "rated voltage", rated_volt, "volt");
            if !(0.0..=1.0).contains(&cold_fraction) {
                let expected = "a fraction of the hot resistance, from 0 to 1";
                found.bad_value(at, "cold fraction", cold_fraction, "", expected);
            }
            found.not_negative(at, "exponent", exponent, "");
        }
        LoadKind::ConstantPower { active_watt, reactive_var, cut_out_volt } => {
            found.finite(at, "active power", active_watt, "watt");
            found.finite(at, "reactive power", reactive_var, "var");
            found.positive(at, "cut-out voltage", cut_out_volt, "volt");
        }
        LoadKind::PilotLamp { threshold_volt, off_ohm, series_ohm } => {
            found.not_negative(at, "threshold", threshold_volt, "volt");
            found.positive(at, "series resistance", series_ohm, "ohm");
            if off_ohm.is_nan() || off_ohm <= 0.0 {
                let expected = "more than zero, or infinite for none";
                found.bad_value(at, "resistance when dark", off_ohm, "ohm", expected);
            }
        }
        LoadKind::Motor { running, locked_rotor } => {
            found.impedance(at, "running", running);
            found.impedance(at, "locked-rotor", locked_rotor);
        }
    }
}

fn lumped(lumped: &Lumped, found: &mut Found) {
    let at = At::new(PartKind::Lumped, &lumped.id, "kind");
    match lumped.kind {
        LumpedKind::Impedance(impedance) => found.impedance(at, "series", impedance),
        LumpedKind::CapacitorFarad(farad) => found.not_negative(at, "capacitance", farad, "farad"),
        LumpedKind::Source { emf_volt, impedance } => {
            found.phasor(at, "voltage", emf_volt, "volt");
            found.impedance(at, "own", impedance);
        }
        LumpedKind::Load(kind) => load_kind(at, kind, found),
        LumpedKind::Open => {}
    }
}
