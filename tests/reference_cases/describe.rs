//! A case's `physical` as a [`Description`]: every default overridden.

use std::collections::BTreeMap;

use serde::Deserialize;
use slotwise::circuit::{
    Bond, BranchCircuit, Breaker, Cable, CablePair, Conductor, Description, Device, DeviceKind,
    Electrode, Landing, Link, Load, LoadKind, Lumped, LumpedKind, Outlet, Place, PlaceKind,
    Sensing, ServiceConductor, Supply, Tab, TripCurve, Winding,
};
use slotwise::quantity::{Address, Impedance, Phasor};

use super::names::ours;

/// The installed part of `physical`.
#[derive(Deserialize)]
pub struct Physical {
    frequency_hz: f64,
    supply: SupplyRecord,
    #[serde(default)]
    circuits: Vec<CircuitRecord>,
    #[serde(default)]
    cables: Vec<CableRecord>,
    #[serde(default)]
    devices: Vec<DeviceRecord>,
    #[serde(default)]
    links: Vec<LinkRecord>,
    #[serde(default)]
    loads: Vec<LoadRecord>,
    #[serde(default)]
    extra: Vec<ExtraRecord>,
}

#[derive(Deserialize)]
struct SupplyRecord {
    #[serde(default)]
    windings: Vec<WindingRecord>,
    #[serde(default)]
    electrodes: Vec<ElectrodeRecord>,
    #[serde(default)]
    conductors: Vec<ServiceRecord>,
    #[serde(default)]
    bonds: Vec<LinkRecord>,
}

#[derive(Deserialize)]
struct WindingRecord {
    id: String,
    line: String,
    neutral: String,
    emf_v: (f64, f64),
    #[serde(default)]
    r_ohm: f64,
    #[serde(default)]
    x_ohm: f64,
}

#[derive(Deserialize)]
struct ElectrodeRecord {
    id: String,
    node: String,
    r_ohm: f64,
}

#[derive(Deserialize)]
struct ServiceRecord {
    id: String,
    from: String,
    to: String,
    r_ohm: f64,
    #[serde(default)]
    x_ohm: f64,
}

#[derive(Deserialize)]
struct LinkRecord {
    id: String,
    between: (String, String),
    r_ohm: f64,
}

#[derive(Deserialize)]
struct CircuitRecord {
    id: String,
    bus: String,
    breaker: BreakerRecord,
    neutral_bus: Option<String>,
    neutral_contact_r_ohm: Option<f64>,
    ground_bus: Option<String>,
    ground_contact_r_ohm: Option<f64>,
}

#[derive(Deserialize)]
struct BreakerRecord {
    closed: bool,
    r_ohm: f64,
}

#[derive(Deserialize)]
struct CableRecord {
    id: String,
    length_m: f64,
    conductors: BTreeMap<String, PerMetre>,
    #[serde(default)]
    capacitance: Vec<CapacitanceRecord>,
    #[serde(default)]
    leakage: Vec<LeakageRecord>,
    ends: EndsRecord,
}

#[derive(Deserialize)]
struct PerMetre {
    r_ohm_per_m: f64,
    #[serde(default)]
    x_ohm_per_m: f64,
}

#[derive(Deserialize)]
struct CapacitanceRecord {
    between: (String, String),
    f_per_m: f64,
}

#[derive(Deserialize)]
struct LeakageRecord {
    between: (String, String),
    ohm_m: f64,
}

#[derive(Deserialize)]
struct EndsRecord {
    a: BTreeMap<String, Option<LandingRecord>>,
    b: BTreeMap<String, Option<LandingRecord>>,
}

#[derive(Deserialize)]
struct LandingRecord {
    to: Option<String>,
    #[serde(default)]
    contact_r_ohm: f64,
}

#[derive(Deserialize)]
struct DeviceRecord {
    id: String,
    #[serde(flatten)]
    kind: DeviceKindRecord,
}

#[derive(Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum DeviceKindRecord {
    Receptacle {},
    Duplex {
        #[serde(rename = "tab_H")]
        tab_hot: TabRecord,
        #[serde(rename = "tab_N")]
        tab_neutral: TabRecord,
    },
    Switch {
        closed: bool,
        #[serde(flatten)]
        contact: ContactRecord,
    },
    ThreeWay {
        position: u8,
        #[serde(flatten)]
        contact: ContactRecord,
    },
    FourWay {
        position: FourWayPosition,
        #[serde(flatten)]
        contact: ContactRecord,
    },
    Gfci {
        closed: bool,
        #[serde(flatten)]
        contact: ContactRecord,
    },
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum FourWayPosition {
    Straight,
    Crossed,
}

#[derive(Deserialize)]
struct ContactRecord {
    r_closed_ohm: f64,
    #[serde(default)]
    c_open_farad: f64,
}

#[derive(Deserialize)]
struct TabRecord {
    intact: bool,
    r_ohm: f64,
    #[serde(default)]
    gap_c_farad: f64,
}

#[derive(Deserialize)]
struct LoadRecord {
    id: String,
    between: (String, String),
    on: bool,
    #[serde(flatten)]
    law: LoadLaw,
}

#[derive(Deserialize)]
#[serde(tag = "type", rename_all = "snake_case")]
enum LoadLaw {
    Resistive { p_rated_w: f64, v_rated_v: f64 },
    Impedance(Series),
    Capacitor(Capacitor),
    Incandescent(Filament),
    ConstantPower(ConstantPower),
    ThresholdLamp(Indicator),
}

#[derive(Deserialize)]
struct ExtraRecord {
    id: String,
    a: String,
    b: String,
    #[serde(flatten)]
    law: ExtraLaw,
}

#[derive(Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum ExtraLaw {
    Impedance(Series),
    Capacitor(Capacitor),
    Source {
        emf_v: (f64, f64),
        #[serde(flatten)]
        series: Series,
    },
    Open {},
    Incandescent(Filament),
    ConstantPower(ConstantPower),
    ThresholdLamp(Indicator),
}

#[derive(Deserialize)]
struct Series {
    #[serde(default)]
    r_ohm: f64,
    #[serde(default)]
    x_ohm: f64,
}

#[derive(Deserialize)]
struct Capacitor {
    c_farad: f64,
}

#[derive(Deserialize)]
struct Filament {
    p_rated_w: f64,
    v_rated_v: f64,
    cold_fraction: f64,
    exponent: f64,
}

#[derive(Deserialize)]
struct ConstantPower {
    p_w: f64,
    #[serde(default)]
    q_var: f64,
    v_min_v: f64,
}

#[derive(Deserialize)]
struct Indicator {
    #[serde(alias = "v_on")]
    v_on_v: f64,
    #[serde(default, alias = "r_off")]
    r_off_ohm: Option<f64>,
    #[serde(alias = "r_series")]
    r_series_ohm: f64,
}

impl Series {
    fn impedance(&self) -> Impedance {
        Impedance::new(self.r_ohm, self.x_ohm)
    }
}

impl From<&Filament> for LoadKind {
    fn from(filament: &Filament) -> Self {
        Self::Filament {
            rated_watt: filament.p_rated_w,
            rated_volt: filament.v_rated_v,
            cold_fraction: filament.cold_fraction,
            exponent: filament.exponent,
        }
    }
}

impl From<&ConstantPower> for LoadKind {
    fn from(power: &ConstantPower) -> Self {
        Self::ConstantPower {
            active_watt: power.p_w,
            reactive_var: power.q_var,
            cut_out_volt: power.v_min_v,
        }
    }
}

impl From<&Indicator> for LoadKind {
    fn from(indicator: &Indicator) -> Self {
        Self::PilotLamp {
            threshold_volt: indicator.v_on_v,
            off_ohm: indicator.r_off_ohm.unwrap_or(f64::INFINITY),
            series_ohm: indicator.r_series_ohm,
        }
    }
}

impl Physical {
    /// The same in our words.
    pub fn description(&self) -> Description {
        Description {
            name: "reference case".into(),
            frequency_hz: self.frequency_hz,
            supply: self.supply.supply(),
            branch_circuits: self.circuits.iter().map(CircuitRecord::circuit).collect(),
            cables: self.cables.iter().map(CableRecord::cable).collect(),
            devices: self.devices.iter().map(DeviceRecord::device).collect(),
            links: self.links.iter().map(LinkRecord::link).collect(),
            loads: self.loads.iter().map(LoadRecord::load).collect(),
            lumped: self.extra.iter().map(ExtraRecord::lumped).collect(),
            places: self.devices.iter().filter_map(DeviceRecord::place).collect(),
            ..Description::default()
        }
    }
}

fn address(name: &str) -> Address {
    Address::from(ours(name))
}

fn addresses((a, b): &(String, String)) -> (Address, Address) {
    (address(a), address(b))
}

fn phasor((re, im): (f64, f64)) -> Phasor {
    Phasor::new(re, im)
}

impl SupplyRecord {
    fn supply(&self) -> Supply {
        let winding = |x: &WindingRecord| Winding {
            id: ours(&x.id),
            line: address(&x.line),
            neutral: address(&x.neutral),
            emf_volt: phasor(x.emf_v),
            impedance: Impedance::new(x.r_ohm, x.x_ohm),
        };
        let conductor = |x: &ServiceRecord| ServiceConductor {
            id: ours(&x.id),
            from: address(&x.from),
            to: address(&x.to),
            impedance: Impedance::new(x.r_ohm, x.x_ohm),
        };
        let electrode = |x: &ElectrodeRecord| Electrode {
            id: ours(&x.id),
            node: address(&x.node),
            resistance_ohm: x.r_ohm,
        };
        let bond = |x: &LinkRecord| Bond {
            id: ours(&x.id),
            between: addresses(&x.between),
            resistance_ohm: x.r_ohm,
        };
        Supply {
            windings: self.windings.iter().map(winding).collect(),
            couplings: Vec::new(),
            conductors: self.conductors.iter().map(conductor).collect(),
            electrodes: self.electrodes.iter().map(electrode).collect(),
            bonds: self.bonds.iter().map(bond).collect(),
        }
    }
}

impl CircuitRecord {
    fn circuit(&self) -> BranchCircuit {
        let landing = |bar: &Option<String>, ohm: Option<f64>| {
            bar.as_ref().map(|bar| (address(bar), ohm.unwrap_or(0.0)))
        };
        BranchCircuit {
            id: ours(&self.id),
            bus: address(&self.bus),
            breaker: Breaker {
                closed: self.breaker.closed,
                resistance_ohm: self.breaker.r_ohm,
                rating_ampere: None,
                curve: TripCurve::default(),
                residual_trip_ampere: None,
                residual_delayed: false,
                arc_fault: false,
            },
            neutral_landing: landing(&self.neutral_bus, self.neutral_contact_r_ohm),
            ground_landing: landing(&self.ground_bus, self.ground_contact_r_ohm),
            tied_with: Vec::new(),
        }
    }
}

impl CableRecord {
    fn cable(&self) -> Cable {
        let conductor = |(name, x): (&String, &PerMetre)| Conductor {
            name: ours(name),
            impedance_per_m: Impedance::new(x.r_ohm_per_m, x.x_ohm_per_m),
            ampacity_ampere: None,
        };
        let pair =
            |(p, q): &(String, String), value| CablePair { between: (ours(p), ours(q)), value };
        let landings = |end: &BTreeMap<String, Option<LandingRecord>>| {
            end.iter()
                .filter_map(|(name, landing)| {
                    let landing = landing.as_ref()?;
                    Some(Landing {
                        conductor: ours(name),
                        to: address(landing.to.as_ref()?),
                        contact_ohm: landing.contact_r_ohm,
                    })
                })
                .collect()
        };
        Cable {
            id: ours(&self.id),
            length_m: self.length_m,
            conductors: self.conductors.iter().map(conductor).collect(),
            capacitance_farad_per_m: self
                .capacitance
                .iter()
                .map(|x| pair(&x.between, x.f_per_m))
                .collect(),
            insulation_ohm_m: self.leakage.iter().map(|x| pair(&x.between, x.ohm_m)).collect(),
            ends: [landings(&self.ends.a), landings(&self.ends.b)],
        }
    }
}

impl DeviceRecord {
    fn device(&self) -> Device {
        let tab = |tab: &TabRecord| Tab {
            intact: tab.intact,
            resistance_ohm: tab.r_ohm,
            gap_farad: tab.gap_c_farad,
        };
        let kind = match &self.kind {
            DeviceKindRecord::Receptacle {} => {
                DeviceKind::Receptacle { configuration: "NEMA 5-15".into() }
            }
            DeviceKindRecord::Duplex { tab_hot, tab_neutral } => DeviceKind::Duplex {
                configuration: "NEMA 5-15".into(),
                hot_tab: tab(tab_hot),
                neutral_tab: tab(tab_neutral),
            },
            DeviceKindRecord::Switch { closed, contact } => DeviceKind::Switch {
                poles: 1,
                closed: *closed,
                closed_ohm: contact.r_closed_ohm,
                gap_farad: contact.c_open_farad,
            },
            DeviceKindRecord::ThreeWay { position, contact } => DeviceKind::ThreeWay {
                position: *position,
                closed_ohm: contact.r_closed_ohm,
                gap_farad: contact.c_open_farad,
            },
            DeviceKindRecord::FourWay { position, contact } => DeviceKind::FourWay {
                crossed: matches!(position, FourWayPosition::Crossed),
                closed_ohm: contact.r_closed_ohm,
                gap_farad: contact.c_open_farad,
            },
            DeviceKindRecord::Gfci { closed, contact } => DeviceKind::Protective {
                poles: vec!["hot".into(), "neutral".into()],
                closed: *closed,
                closed_ohm: contact.r_closed_ohm,
                gap_farad: contact.c_open_farad,
                sensing: Sensing {
                    residual_trip_ampere: None,
                    delayed: false,
                    grounded_neutral_ohm: None,
                    rating_ampere: None,
                    arc_fault: false,
                    needs_supply: false,
                },
            },
        };
        Device { id: ours(&self.id), kind }
    }

    /// A box for what a plug goes into, so that slots exist that no wire reaches.
    fn place(&self) -> Option<Place> {
        let id = ours(&self.id);
        let device = Address::from(id.as_str());
        let slots = |half: &Address, names: &[&str]| {
            let mut slots: Vec<(String, Address)> =
                names.iter().map(|name| ((*name).to_owned(), half.join(name))).collect();
            slots.push(("ground".into(), device.join("ground")));
            Outlet { address: half.clone(), configuration: "NEMA 5-15".into(), slots }
        };
        let outlets = match self.kind {
            DeviceKindRecord::Receptacle {} => vec![slots(&device, &["hot", "neutral"])],
            DeviceKindRecord::Duplex { .. } => ["top", "bottom"]
                .iter()
                .map(|half| slots(&device.join(half), &["hot", "neutral"]))
                .collect(),
            DeviceKindRecord::Gfci { .. } => vec![slots(&device, &[])],
            _ => return None,
        };
        Some(Place {
            id: id.clone(),
            kind: PlaceKind::Box,
            fed_from: None,
            line_cables: Vec::new(),
            load_cables: Vec::new(),
            devices: vec![id],
            outlets,
        })
    }
}

impl LinkRecord {
    fn link(&self) -> Link {
        Link { id: ours(&self.id), between: addresses(&self.between), resistance_ohm: self.r_ohm }
    }
}

impl LoadRecord {
    fn load(&self) -> Load {
        let kind = match &self.law {
            LoadLaw::Resistive { p_rated_w, v_rated_v } => {
                LoadKind::Resistive { rated_watt: *p_rated_w, rated_volt: *v_rated_v }
            }
            LoadLaw::Impedance(series) => LoadKind::Impedance(series.impedance()),
            LoadLaw::Capacitor(x) => LoadKind::Capacitor { capacitance_farad: x.c_farad },
            LoadLaw::Incandescent(filament) => filament.into(),
            LoadLaw::ConstantPower(power) => power.into(),
            LoadLaw::ThresholdLamp(indicator) => indicator.into(),
        };
        Load {
            id: ours(&self.id),
            between: addresses(&self.between),
            kind,
            on: self.on,
            plugged_in: true,
            plug_links: Vec::new(),
            frame: None,
        }
    }
}

impl ExtraRecord {
    fn lumped(&self) -> Lumped {
        let kind = match &self.law {
            ExtraLaw::Impedance(series) => LumpedKind::Impedance(series.impedance()),
            ExtraLaw::Capacitor(x) => LumpedKind::CapacitorFarad(x.c_farad),
            ExtraLaw::Source { emf_v, series } => {
                LumpedKind::Source { emf_volt: phasor(*emf_v), impedance: series.impedance() }
            }
            ExtraLaw::Open {} => LumpedKind::Open,
            ExtraLaw::Incandescent(filament) => LumpedKind::Load(filament.into()),
            ExtraLaw::ConstantPower(power) => LumpedKind::Load(power.into()),
            ExtraLaw::ThresholdLamp(indicator) => LumpedKind::Load(indicator.into()),
        };
        Lumped { id: ours(&self.id), between: (address(&self.a), address(&self.b)), kind }
    }
}
