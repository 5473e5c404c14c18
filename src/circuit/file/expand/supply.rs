//! Transformer or generator, service conductors, bonds and electrodes.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{EarthingForm, ServiceForm, SupplyForm, SystemForm};
use crate::circuit::table::{AwgSize, Metal};
use crate::circuit::{
    Bond, Coupling, Electrode, JointKind, PlaceKind, RangeOf, ServiceConductor, Side, Winding,
};
use crate::quantity::{Address, Impedance, Phasor};

use super::Expansion;
use super::amount::{
    ELECTRODE_OHMS, FEET, HERTZ, KVA, METRES, OHMS, PERCENT_IMPEDANCE, PHASE_DEGREES,
    REACTANCE_OHMS, VOLTS, X_OVER_R,
};
use super::extras::SOURCE_OHM;

/// What a system is when nothing more is stated.
struct SystemFacts {
    volts: f64,
    hertz: f64,
    earthing: EarthingForm,
    kva: f64,
    percent_impedance: f64,
    x_over_r: f64,
    service: ServiceFacts,
    transformer_electrode_ohm: f64,
    panel_electrode_ohm: Option<f64>,
}

enum ServiceFacts {
    /// Metres of 4/0 AWG aluminium.
    Aluminium4By0(f64),
    /// Impedance of line and neutral.
    Stated(Impedance, Impedance),
}

impl Expansion<'_> {
    pub(super) fn supply(&mut self) {
        let none = SupplyForm::default();
        let form = self.form.supply.as_ref().unwrap_or(&none);
        let facts = facts(self.system);
        self.supply_fields_in_vain(form);
        self.out.frequency_hz = self.amount_or(form.hertz.as_ref(), facts.hertz, HERTZ);
        let volts = self.supply_volts(form, &facts);
        self.windings(form, &facts, volts);
        self.service(form, &facts);
        self.earthing(form, &facts);
        self.main_places();
    }

    /// Says which fields have no effect with the system.
    fn supply_fields_in_vain(&mut self, form: &SupplyForm) {
        let by_hand = self.system == SystemForm::Windings;
        let windings = form.windings.iter().flatten().map(|winding| &winding.id.span).next();
        let transformer = form.transformer.as_ref();
        let plate = transformer
            .and_then(|t| [&t.kva, &t.percent_impedance, &t.x_over_r].into_iter().flatten().next());
        let others = [
            form.volts.as_ref(),
            form.volts_between.as_ref().map(|between| &between.0),
            plate,
            form.winding_ohms.as_ref(),
            form.winding_reactance_ohms.as_ref(),
        ];
        let in_vain = if by_hand {
            others.into_iter().flatten().map(|number| &number.span).next()
        } else {
            windings
        };
        if let Some(span) = in_vain {
            let help = if by_hand {
                "with `system: Windings` each winding states its own volts and ohms"
            } else {
                "`windings` go with `system: Windings`"
            };
            self.say(
                Diagnostic::error(
                    "field-in-vain",
                    "this has no effect with this kind of supply",
                    span.clone(),
                )
                .with_help(help),
            );
        }
    }

    fn supply_volts(&mut self, form: &SupplyForm, facts: &SystemFacts) -> f64 {
        let volts = self.amount_or(form.volts.as_ref(), facts.volts, VOLTS);
        let Some(between) = form.volts_between.as_ref() else { return volts };
        let (low, high) = self.range_of(between, VOLTS);
        let middle = f64::midpoint(low, high);
        let volts = if form.volts.is_some() { volts } else { middle };
        self.range(RangeOf::SupplyScale, low / volts, high / volts);
        volts
    }

    fn windings(&mut self, form: &SupplyForm, facts: &SystemFacts, volts: f64) {
        if self.system == SystemForm::Windings {
            self.windings_by_hand(form);
            return;
        }
        let transformer = form.transformer.as_ref();
        let kva = transformer.and_then(|t| t.kva.as_ref());
        let volt_ampere = self.amount_or(kva, facts.kva, KVA) * 1e3;
        let percent = transformer.and_then(|t| t.percent_impedance.as_ref());
        let share = self.amount_or(percent, facts.percent_impedance, PERCENT_IMPEDANCE) / 100.0;
        let ratio = transformer.and_then(|t| t.x_over_r.as_ref());
        let x_over_r = self.amount_or(ratio, facts.x_over_r, X_OVER_R);
        // Per unit: R + jX with |R + jX| = share.
        let per_unit_r = share / x_over_r.hypot(1.0);
        let per_unit = Impedance::new(per_unit_r, per_unit_r * x_over_r);
        let own = self.own_winding_impedance(form);
        match self.system {
            SystemForm::SplitPhase | SystemForm::HighLeg => {
                self.split_phase(volts, volt_ampere, per_unit, own);
                if self.system == SystemForm::HighLeg {
                    // The third winding spans a full phase, twice the half winding.
                    let base = (2.0 * volts).powi(2) / volt_ampere;
                    let impedance = own.unwrap_or_else(|| scaled(per_unit, base, base));
                    let emf = Phasor::new(-volts, 3_f64.sqrt() * volts);
                    self.winding("L3", "xf.L1", emf, impedance);
                }
            }
            SystemForm::Wye208 | SystemForm::Wye400 => {
                let base = 3.0 * volts.powi(2) / volt_ampere;
                let impedance = own.unwrap_or_else(|| scaled(per_unit, base, base));
                for (leg, degrees) in [("L1", 0.0), ("L2", -120.0), ("L3", 120.0)] {
                    self.winding(leg, "xf.neutral", Phasor::polar(volts, degrees), impedance);
                }
            }
            SystemForm::Single230 | SystemForm::Generator => {
                let base = volts.powi(2) / volt_ampere;
                let impedance = own.unwrap_or_else(|| scaled(per_unit, base, base));
                self.winding("L1", "xf.neutral", Phasor::new(volts, 0.0), impedance);
            }
            SystemForm::Windings => {}
        }
    }

    fn own_winding_impedance(&mut self, form: &SupplyForm) -> Option<Impedance> {
        let stated = form.winding_ohms.is_some() || form.winding_reactance_ohms.is_some();
        if let (true, Some(transformer)) = (stated, form.transformer.as_ref())
            && let Some(number) =
                form.winding_ohms.as_ref().or(form.winding_reactance_ohms.as_ref())
        {
            let mut diagnostic = Diagnostic::error(
                "winding-twice",
                "the windings are stated by ohms and by rating plate",
                number.span.clone(),
            )
            .with_help("leave out one of the two");
            if let Some(kva) = &transformer.kva {
                diagnostic = diagnostic.with_label(kva.span.clone(), "by rating plate here");
            }
            self.say(diagnostic);
        }
        let resistance = self.amount_or(form.winding_ohms.as_ref(), 0.0, OHMS);
        let reactance = self.amount_or(form.winding_reactance_ohms.as_ref(), 0.0, REACTANCE_OHMS);
        stated.then(|| Impedance::new(resistance, reactance))
    }

    /// Two halves of one winding: self (1.5 R + j1.2 X), mutual (0.5 R + j0.8 X) on the base
    /// of one half, for currents that flow the same way through both. Windings point from
    /// line to neutral here, so in them such currents run against each other and the mutual
    /// part is negative. Source: Kersting, IEEE Trans. Ind. Appl. 45(2), 2009.
    fn split_phase(
        &mut self,
        volts: f64,
        volt_ampere: f64,
        per_unit: Impedance,
        own: Option<Impedance>,
    ) {
        let base = volts.powi(2) / volt_ampere;
        let half = own.unwrap_or_else(|| scaled(per_unit, 1.5 * base, 1.2 * base));
        self.winding("L1", "xf.neutral", Phasor::new(volts, 0.0), half);
        self.winding("L2", "xf.neutral", Phasor::new(-volts, 0.0), half);
        if own.is_none() {
            self.out.supply.couplings.push(Coupling {
                first: "L1".into(),
                second: "L2".into(),
                mutual: scaled(per_unit, -0.5 * base, -0.8 * base),
            });
        }
    }

    fn winding(&mut self, leg: &str, neutral: &str, emf_volt: Phasor, impedance: Impedance) {
        let from = self.bars.get(&neutral.replace("xf.", "panel.")).copied();
        self.bars.insert(format!("panel.{leg}"), from.unwrap_or_default() + emf_volt);
        self.out.supply.windings.push(Winding {
            id: leg.to_owned(),
            line: Address::from(format!("xf.{leg}")),
            neutral: Address::from(neutral),
            emf_volt,
            impedance,
        });
    }

    fn windings_by_hand(&mut self, form: &SupplyForm) {
        for winding in form.windings.iter().flatten() {
            let volts = self.amount(&winding.volts, VOLTS);
            let degrees = self.amount_or(winding.degrees.as_ref(), 0.0, PHASE_DEGREES);
            let resistance = self.amount_or(winding.ohms.as_ref(), SOURCE_OHM, OHMS);
            let reactance = self.amount_or(winding.reactance_ohms.as_ref(), 0.0, REACTANCE_OHMS);
            let id = winding.id.value.clone();
            let own = format!("xf.{id}");
            let line = winding.line.as_ref().map_or(own, |line| line.value.clone());
            let neutral =
                winding.neutral.as_ref().map_or("xf.neutral".to_owned(), |n| n.value.clone());
            let emf_volt = Phasor::polar(volts, degrees);
            let before = self.bars.get(&neutral.replace("xf.", "panel.")).copied();
            self.bars.insert(line.replace("xf.", "panel."), before.unwrap_or_default() + emf_volt);
            self.out.supply.windings.push(Winding {
                id,
                line: Address::from(line),
                neutral: Address::from(neutral),
                emf_volt,
                impedance: Impedance::new(resistance, reactance),
            });
        }
        if self.out.supply.windings.is_empty() {
            let span = self.form.format.span.clone();
            self.say_missing(
                Diagnostic::error("no-windings", "the supply has no windings", span)
                    .with_expected("`windings: [(id: \"L1\", volts: 120)]` in `supply`"),
            );
        }
    }

    fn service(&mut self, form: &SupplyForm, facts: &SystemFacts) {
        let none = ServiceForm::default();
        let service = form.service.as_ref().unwrap_or(&none);
        let (line, neutral) = self.service_impedances(service, facts);
        let ground = Impedance::new(
            self.amount_or(service.ground_ohms.as_ref(), neutral.resistance_ohm, OHMS),
            self.amount_or(
                service.ground_reactance_ohms.as_ref(),
                neutral.reactance_ohm,
                REACTANCE_OHMS,
            ),
        );
        let mut bars: Vec<&String> = self.bars.keys().collect();
        bars.sort();
        let legs: Vec<String> =
            bars.iter().filter_map(|bar| bar.strip_prefix("panel.")).map(str::to_owned).collect();
        for leg in &legs {
            self.service_conductor(leg, &format!("xf.{leg}"), leg, line);
        }
        self.service_conductor("neutral", "xf.neutral", "neutral", neutral);
        if self.earthing_kind(form, facts) == EarthingForm::TnS {
            self.service_conductor("ground", "xf.neutral", "ground", ground);
        }
    }

    fn service_conductor(&mut self, id: &str, from: &str, bar: &str, impedance: Impedance) {
        self.out.supply.conductors.push(ServiceConductor {
            id: id.to_owned(),
            from: Address::from(from),
            to: Address::from(format!("panel.{bar}")),
            impedance,
        });
        self.joint(
            format!("service.{id}"),
            format!("service:{id}"),
            ("panel", id),
            (JointKind::Service, Side::Line),
        );
    }

    fn service_impedances(
        &mut self,
        form: &ServiceForm,
        facts: &SystemFacts,
    ) -> (Impedance, Impedance) {
        let sized = form.awg.is_some()
            || form.mm2.is_some()
            || form.feet.is_some()
            || form.metres.is_some()
            || form.metal.is_some()
            || form.celsius.is_some();
        let (line, neutral) = match facts.service {
            ServiceFacts::Stated(line, neutral) if !sized => (line, neutral),
            ServiceFacts::Stated(..) => {
                let line = self.sized_service(form, 30.0);
                (line, line)
            }
            ServiceFacts::Aluminium4By0(length_m) => {
                let line = self.sized_service(form, length_m);
                (line, line)
            }
        };
        let stated = form.ohms.is_some() || form.reactance_ohms.is_some();
        let line = Impedance::new(
            self.amount_or(form.ohms.as_ref(), line.resistance_ohm, OHMS),
            self.amount_or(form.reactance_ohms.as_ref(), line.reactance_ohm, REACTANCE_OHMS),
        );
        let neutral = if stated { line } else { neutral };
        let neutral = Impedance::new(
            self.amount_or(form.neutral_ohms.as_ref(), neutral.resistance_ohm, OHMS),
            self.amount_or(
                form.neutral_reactance_ohms.as_ref(),
                neutral.reactance_ohm,
                REACTANCE_OHMS,
            ),
        );
        (line, neutral)
    }

    fn sized_service(&mut self, form: &ServiceForm, otherwise_m: f64) -> Impedance {
        let length_m = match (&form.feet, &form.metres) {
            (Some(feet), _) => self.amount(feet, FEET) * 0.3048,
            (None, Some(metres)) => self.amount(metres, METRES),
            (None, None) => otherwise_m,
        };
        let per_m = self.service_per_m(form);
        Impedance::new(per_m.resistance_ohm * length_m, per_m.reactance_ohm * length_m)
    }

    fn earthing_kind(&self, form: &SupplyForm, facts: &SystemFacts) -> EarthingForm {
        form.earthing.unwrap_or(facts.earthing)
    }

    fn earthing(&mut self, form: &SupplyForm, facts: &SystemFacts) {
        let kind = self.earthing_kind(form, facts);
        let transformer = form.transformer_electrode_ohms.as_ref();
        let panel = form.panel_electrode_ohms.as_ref();
        if kind != EarthingForm::Isolated || transformer.is_some() {
            let otherwise =
                if kind == EarthingForm::Tt { 20.0 } else { facts.transformer_electrode_ohm };
            let ohm = self.amount_or(transformer, otherwise, ELECTRODE_OHMS);
            self.electrode("transformer", "xf.neutral", ohm);
        }
        let panel_ohm = match kind {
            EarthingForm::TnCS => facts.panel_electrode_ohm,
            EarthingForm::Tt => Some(HOUSE_ELECTRODE_OHM),
            EarthingForm::TnS | EarthingForm::Isolated => None,
        };
        if panel.is_some() || panel_ohm.is_some() {
            let ohm =
                self.amount_or(panel, panel_ohm.unwrap_or(HOUSE_ELECTRODE_OHM), ELECTRODE_OHMS);
            self.electrode("panel", "panel.ground", ohm);
        }
        if kind == EarthingForm::TnCS {
            let resistance_ohm =
                self.amount_or(form.bond_ohms.as_ref(), self.contacts.bond_ohm, OHMS);
            self.out.supply.bonds.push(Bond {
                id: "main".into(),
                between: (Address::from("panel.neutral"), Address::from("panel.ground")),
                resistance_ohm,
            });
            let at = ("panel", "ground");
            self.joint("panel.bond".into(), "bond:main".into(), at, (JointKind::Bond, Side::Here));
        } else if let Some(ohms) = &form.bond_ohms {
            let span = ohms.span.clone();
            self.say(
                Diagnostic::error(
                    "bond-without-place",
                    "there is no main bond with this earthing",
                    span,
                )
                .with_help("only `earthing: TnCS` joins neutral and ground at the panel"),
            );
        }
    }

    pub(super) fn electrode(&mut self, id: &str, node: &str, resistance_ohm: f64) {
        self.out.supply.electrodes.push(Electrode {
            id: id.to_owned(),
            node: Address::from(node),
            resistance_ohm,
        });
        let place = if id == "transformer" { "transformer" } else { "panel" };
        self.joint(
            format!("{id}.electrode"),
            format!("electrode:{id}"),
            (place, "ground"),
            (JointKind::ElectrodeClamp, Side::Here),
        );
    }

    fn main_places(&mut self) {
        for (id, kind, fed_from) in [
            ("transformer", PlaceKind::Supply, None),
            ("panel", PlaceKind::Panel, Some("transformer".to_owned())),
        ] {
            self.push_place(id, kind, fed_from);
        }
    }

    /// Impedance per metre of the service conductors, 4/0 AWG aluminium at 20 °C in plastic
    /// conduit unless stated.
    fn service_per_m(&mut self, form: &ServiceForm) -> Impedance {
        let fallback = AwgSize::named("4/0")
            .and_then(|size| size.resistance_ohm_per_m(Metal::Aluminium, 20.0))
            .unwrap_or(0.27e-3);
        self.sized_per_m(form).unwrap_or(Impedance::new(fallback, 0.13e-3))
    }
}

const HOUSE_ELECTRODE_OHM: f64 = 25.0;

fn scaled(per_unit: Impedance, resistance_base: f64, reactance_base: f64) -> Impedance {
    Impedance::new(
        per_unit.resistance_ohm * resistance_base,
        per_unit.reactance_ohm * reactance_base,
    )
}

/// What a system is unless stated; sources in `docs/defaults.md`.
fn facts(system: SystemForm) -> SystemFacts {
    let american = SystemFacts {
        volts: 120.0,
        hertz: 60.0,
        earthing: EarthingForm::TnCS,
        kva: 25.0,
        percent_impedance: 1.8,
        x_over_r: 1.1,
        service: ServiceFacts::Aluminium4By0(30.0),
        transformer_electrode_ohm: 1.0,
        panel_electrode_ohm: Some(HOUSE_ELECTRODE_OHM),
    };
    // IEC 60725: the whole supply, less the transformer below.
    let reference = ServiceFacts::Stated(Impedance::new(0.235, 0.135), Impedance::new(0.16, 0.10));
    let european = SystemFacts {
        volts: 230.0,
        hertz: 50.0,
        earthing: EarthingForm::TnCS,
        kva: 400.0,
        percent_impedance: 4.0,
        x_over_r: 3.0,
        service: reference,
        transformer_electrode_ohm: 1.0,
        panel_electrode_ohm: None,
    };
    match system {
        SystemForm::SplitPhase | SystemForm::HighLeg | SystemForm::Windings => american,
        SystemForm::Wye208 => {
            SystemFacts { kva: 75.0, percent_impedance: 3.5, x_over_r: 2.0, ..american }
        }
        SystemForm::Wye400 => european,
        // One phase of the same transformer.
        SystemForm::Single230 => SystemFacts { kva: 400.0 / 3.0, ..european },
        SystemForm::Generator => SystemFacts {
            earthing: EarthingForm::Isolated,
            kva: 5.0,
            percent_impedance: 12.0,
            x_over_r: 3.0,
            service: ServiceFacts::Stated(Impedance::new(0.016, 0.0), Impedance::new(0.016, 0.0)),
            panel_electrode_ohm: None,
            ..american
        },
    }
}
