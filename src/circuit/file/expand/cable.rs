//! Cables from sizes or ohms: what is not stated comes from the circuit, from `defaults`, and
//! last from the breaker's rating.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{
    CableForm, ConstructionForm, GroundForm, MetalForm, PairValuesForm, ServiceForm,
};
use crate::circuit::table::conductor::{
    RACEWAY_OHM_PER_M, RACEWAY_REACTANCE_OHM_PER_M_AT_60, conduit_reactance_ohm_per_m,
    open_wire_reactance_ohm_per_m, sheathed_reactance_ohm_per_m,
};
use crate::circuit::table::insulation::{capacitance_farad_per_m, insulation_ohm_m};
use crate::circuit::table::{AwgSize, Construction, Metal};
use crate::circuit::{Cable, CablePair, Conductor};
use crate::quantity::Impedance;

use super::Expansion;
use super::amount::{
    AMPACITY, CELSIUS, GIGAOHM_METRES, OHMS_PER_METRE, PICOFARADS, REACTANCE_OHMS,
};

mod size;

use size::{Size, size_span};

/// What decides about a cable.
#[derive(Clone, Copy)]
pub(super) struct CableUse<'f> {
    /// The cable's own form, then its circuit's.
    pub(super) layers: [Option<&'f CableForm>; 2],
    /// Rating of the breaker, amperes.
    pub(super) rating_ampere: Option<f64>,
    /// It is part of a ring, fed from both ends.
    pub(super) ring: bool,
}

/// The cable's settings, all layers merged.
struct Settings<'f> {
    layers: [Option<&'f CableForm>; 3],
}

impl<'f> Settings<'f> {
    fn first<T>(&self, field: impl Fn(&'f CableForm) -> Option<T>) -> Option<T> {
        self.layers.iter().flatten().find_map(|layer| field(layer))
    }

    /// The first layer that states a size.
    fn sizing(&self) -> Option<&'f CableForm> {
        self.layers.iter().flatten().copied().find(|layer| {
            layer.awg.is_some()
                || layer.mm2.is_some()
                || layer.ohms_per_metre.is_some()
                || layer.ohms_per_1000_feet.is_some()
        })
    }
}

impl<'f> Expansion<'f> {
    /// A cable without landings.
    pub(super) fn cable(
        &mut self,
        id: &str,
        length_m: f64,
        conductors: &[String],
        wanted: CableUse<'f>,
    ) -> Cable {
        let defaults = self.form.defaults.as_ref().and_then(|d| d.cable.as_ref());
        let settings = Settings { layers: [wanted.layers[0], wanted.layers[1], defaults] };
        let raceway = settings.first(|layer| layer.ground) == Some(GroundForm::Raceway);
        let construction = construction(settings.first(|layer| layer.construction), raceway);
        let conductors_out = conductors
            .iter()
            .map(|name| {
                let (impedance_per_m, ampacity_ampere) =
                    self.per_metre(name, &settings, construction, raceway, wanted);
                Conductor { name: name.clone(), impedance_per_m, ampacity_ampere }
            })
            .collect();
        let capacitance = settings.first(|layer| layer.capacitance.as_ref());
        let capacitance_farad_per_m = match capacitance {
            None | Some(PairValuesForm::Standard) => {
                capacitance_farad_per_m(construction, conductors, raceway)
            }
            Some(stated) => self.stated_pairs(stated, conductors, true),
        };
        let insulation = settings.first(|layer| layer.insulation.as_ref());
        let insulation_ohm_m = match insulation {
            None | Some(PairValuesForm::Standard) => insulation_ohm_m(conductors),
            Some(stated) => self.stated_pairs(stated, conductors, false),
        };
        Cable {
            id: id.to_owned(),
            length_m,
            conductors: conductors_out,
            capacitance_farad_per_m,
            insulation_ohm_m,
            ends: [Vec::new(), Vec::new()],
        }
    }

    /// Resistance in Ω/m of a current-carrying conductor, for pigtails.
    pub(super) fn wire_ohm_per_m(&mut self, wanted: CableUse<'f>) -> f64 {
        let defaults = self.form.defaults.as_ref().and_then(|d| d.cable.as_ref());
        let settings = Settings { layers: [wanted.layers[0], wanted.layers[1], defaults] };
        let (per_m, _) = self.per_metre("hot", &settings, Construction::Sheathed, false, wanted);
        per_m.resistance_ohm
    }

    /// Impedance per metre of one conductor, and what it is good for in amperes, if known.
    fn per_metre(
        &mut self,
        conductor: &str,
        settings: &Settings<'f>,
        construction: Construction,
        raceway: bool,
        wanted: CableUse<'f>,
    ) -> (Impedance, Option<f64>) {
        let frequency_hz = self.out.frequency_hz;
        if conductor == "ground" && raceway {
            let stated = settings.first(|layer| layer.ground_ohms_per_metre.as_ref());
            let impedance = Impedance::new(
                self.amount_or(stated, RACEWAY_OHM_PER_M, OHMS_PER_METRE),
                RACEWAY_REACTANCE_OHM_PER_M_AT_60 * frequency_hz / 60.0,
            );
            return (impedance, None);
        }
        let metal = metal(settings.first(|layer| layer.metal));
        let celsius = self.amount_or(settings.first(|layer| layer.celsius.as_ref()), 20.0, CELSIUS);
        let live = self.live_size(settings, wanted, metal);
        let size =
            if conductor == "ground" { self.ground_size(settings, live, wanted) } else { live };
        let place = settings.sizing().and_then(size_span);
        let resistance = self.size_ohm_per_m(size, metal, celsius, place);
        let reactance = match construction {
            Construction::Sheathed => sheathed_reactance_ohm_per_m(frequency_hz),
            Construction::OpenWires => open_wire_reactance_ohm_per_m(frequency_hz),
            Construction::PlasticConduit => {
                conduit_reactance_ohm_per_m(size.area_mm2(), false, frequency_hz)
            }
            Construction::SteelConduit => {
                conduit_reactance_ohm_per_m(size.area_mm2(), true, frequency_hz)
            }
        };
        let stated = settings.first(|layer| layer.reactance_ohms_per_metre.as_ref());
        let reactance = self.amount_or(stated, reactance, REACTANCE_OHMS);
        let stated = settings.first(|layer| layer.ampacity_amperes.as_ref());
        let ampacity = match stated {
            Some(number) if conductor != "ground" => Some(self.amount(number, AMPACITY)),
            _ => size.ampacity_ampere(metal),
        };
        (Impedance::new(resistance, reactance), ampacity)
    }

    /// Resistance and reactance in Ω/m of a stated service conductor; `None` without a size.
    pub(super) fn sized_per_m(&mut self, form: &ServiceForm) -> Option<Impedance> {
        let celsius = self.amount_or(form.celsius.as_ref(), 20.0, CELSIUS);
        let (size, place) = match (&form.awg, &form.mm2) {
            (Some(name), _) => (Size::Awg(self.awg(name)?), Some(name.span.clone())),
            (None, Some(number)) => (Size::Mm2(self.mm2(number)?), Some(number.span.clone())),
            (None, None) => (Size::Awg(AwgSize::named("4/0")?), None),
        };
        let metal = match form.metal {
            Some(stated) => metal(Some(stated)),
            None if form.mm2.is_some() => Metal::Copper,
            None => Metal::Aluminium,
        };
        let resistance = self.size_ohm_per_m(size, metal, celsius, place);
        let reactance = conduit_reactance_ohm_per_m(size.area_mm2(), false, self.out.frequency_hz);
        Some(Impedance::new(resistance, reactance))
    }

    /// Values between conductors as listed; nothing for `Off`.
    fn stated_pairs(
        &mut self,
        form: &PairValuesForm,
        conductors: &[String],
        capacitance: bool,
    ) -> Vec<CablePair> {
        let PairValuesForm::Stated(pairs) = form else { return Vec::new() };
        let mut values = Vec::new();
        for pair in pairs {
            let (first, second) = &pair.between;
            let (number, other, field, amount, scale) = if capacitance {
                let own = pair.picofarads_per_metre.as_ref();
                (own, pair.gigaohm_metres.as_ref(), "picofarads_per_metre", PICOFARADS, 1e-12)
            } else {
                let own = pair.gigaohm_metres.as_ref();
                (own, pair.picofarads_per_metre.as_ref(), "gigaohm_metres", GIGAOHM_METRES, 1e9)
            };
            let Some(number) = number else {
                let span = other.map_or(first.span.clone(), |number| number.span.clone());
                self.say(
                    Diagnostic::error("no-value", "this pair has no value", span)
                        .with_expected(format!("`{field}`")),
                );
                continue;
            };
            let value = self.amount(number, amount) * scale;
            // A pair may stand in `defaults` for cables that have no such conductor.
            let known = |name: &str| name == "earth" || conductors.iter().any(|c| c == name);
            if known(first.as_str()) && known(second.as_str()) && value > 0.0 {
                let between = (first.value.clone(), second.value.clone());
                values.push(CablePair { between, value });
            }
        }
        values
    }
}

fn construction(form: Option<ConstructionForm>, raceway: bool) -> Construction {
    match form {
        Some(ConstructionForm::Sheathed) => Construction::Sheathed,
        Some(ConstructionForm::PlasticConduit) => Construction::PlasticConduit,
        Some(ConstructionForm::SteelConduit) => Construction::SteelConduit,
        Some(ConstructionForm::OpenWires) => Construction::OpenWires,
        None if raceway => Construction::SteelConduit,
        None => Construction::Sheathed,
    }
}

fn metal(form: Option<MetalForm>) -> Metal {
    match form {
        Some(MetalForm::Aluminium) => Metal::Aluminium,
        Some(MetalForm::Copper) | None => Metal::Copper,
    }
}
