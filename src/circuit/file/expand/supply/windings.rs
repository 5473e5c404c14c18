//! Windings of the transformer or generator.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::expand::Expansion;
use crate::circuit::file::expand::amount::{
    KVA, OHMS, PERCENT_IMPEDANCE, PHASE_DEGREES, REACTANCE_OHMS, VOLTS, X_OVER_R,
};
use crate::circuit::file::expand::extras::SOURCE_OHM;
use crate::circuit::file::form::{SupplyForm, SystemForm};
use crate::circuit::{Coupling, Winding};
use crate::quantity::{Address, Impedance, Phasor};

use super::facts::SystemFacts;

fn scaled(per_unit: Impedance, resistance_base: f64, reactance_base: f64) -> Impedance {
    Impedance::new(
        per_unit.resistance_ohm * resistance_base,
        per_unit.reactance_ohm * reactance_base,
    )
}

impl Expansion<'_> {
    pub(super) fn windings(&mut self, form: &SupplyForm, facts: &SystemFacts, volts: f64) {
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
        let per_unit_r = share / libm::hypot(x_over_r, 1.0);
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
}
