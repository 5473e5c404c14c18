//! Transformer or generator, service conductors, bonds and electrodes.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{EarthingForm, ServiceForm, SupplyForm, SystemForm};
use crate::circuit::table::{AwgSize, Metal};
use crate::circuit::{Bond, Electrode, JointKind, PlaceKind, RangeOf, ServiceConductor, Side};
use crate::quantity::{Address, Impedance};

use super::Expansion;
use super::amount::{ELECTRODE_OHMS, FEET, HERTZ, METRES, OHMS, REACTANCE_OHMS, VOLTS};

mod facts;
mod windings;

use facts::{HOUSE_ELECTRODE_OHM, ServiceFacts, SystemFacts, facts_of};

impl Expansion<'_> {
    pub(super) fn supply(&mut self) {
        let none = SupplyForm::default();
        let form = self.form.supply.as_ref().unwrap_or(&none);
        let facts = facts_of(self.system);
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
        self.joint(
            format!("{id}.electrode"),
            format!("electrode:{id}"),
            // Transformer, panel and subpanel are places of these names.
            (id, "ground"),
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
