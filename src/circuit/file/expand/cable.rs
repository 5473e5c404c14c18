//! Cables from sizes or ohms: what is not stated comes from the circuit, from `defaults`, and
//! last from the breaker's rating.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{
    CableForm, ConstructionForm, GroundForm, MetalForm, Number, PairValuesForm, ServiceForm,
    SizeName,
};
use crate::circuit::file::near::with_nearest;
use crate::circuit::file::tree::Span;
use crate::circuit::table::conductor::{
    RACEWAY_OHM_PER_M, RACEWAY_REACTANCE_OHM_PER_M_AT_60, conduit_reactance_ohm_per_m,
    open_wire_reactance_ohm_per_m, sheathed_reactance_ohm_per_m,
};
use crate::circuit::table::insulation::{capacitance_farad_per_m, insulation_ohm_m};
use crate::circuit::table::{AwgSize, Construction, Metal, Mm2Size};
use crate::circuit::{Cable, CablePair, Conductor};
use crate::quantity::Impedance;

use super::Expansion;
use super::amount::{
    CELSIUS, GIGAOHM_METRES, OHMS_PER_KFT, OHMS_PER_METRE, PICOFARADS, REACTANCE_OHMS,
};

/// A conductor's size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Size {
    Awg(AwgSize),
    Mm2(Mm2Size),
    /// Stated ohms per metre.
    Ohms(f64),
}

impl Size {
    fn area_mm2(self) -> f64 {
        match self {
            Self::Awg(size) => size.area_mm2,
            Self::Mm2(size) => size.area_mm2,
            Self::Ohms(ohm_per_m) => 0.0172 / (ohm_per_m * 1e3),
        }
    }

    fn breaker_ampere_max(self, metal: Metal) -> Option<f64> {
        match self {
            Self::Awg(size) => size.breaker_ampere_max(metal),
            Self::Mm2(size) => size.breaker_ampere_max(metal),
            Self::Ohms(_) => None,
        }
    }

    fn words(self) -> String {
        match self {
            Self::Awg(size) => format!("{} AWG", size.name),
            Self::Mm2(size) => format!("{} mm²", size.area_mm2),
            Self::Ohms(ohm) => format!("{ohm} ohms per metre"),
        }
    }
}

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
            .map(|name| Conductor {
                name: name.clone(),
                impedance_per_m: self.per_metre(name, &settings, construction, raceway, wanted),
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
        self.per_metre("hot", &settings, Construction::Sheathed, false, wanted).resistance_ohm
    }

    fn per_metre(
        &mut self,
        conductor: &str,
        settings: &Settings<'f>,
        construction: Construction,
        raceway: bool,
        wanted: CableUse<'f>,
    ) -> Impedance {
        let frequency_hz = self.out.frequency_hz;
        if conductor == "ground" && raceway {
            let stated = settings.first(|layer| layer.ground_ohms_per_metre.as_ref());
            return Impedance::new(
                self.amount_or(stated, RACEWAY_OHM_PER_M, OHMS_PER_METRE),
                RACEWAY_REACTANCE_OHM_PER_M_AT_60 * frequency_hz / 60.0,
            );
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
        Impedance::new(resistance, self.amount_or(stated, reactance, REACTANCE_OHMS))
    }

    fn live_size(&mut self, settings: &Settings<'f>, wanted: CableUse<'f>, metal: Metal) -> Size {
        let rating = wanted.rating_ampere;
        let size = match settings.sizing() {
            None => return self.size_for(rating, wanted.ring),
            Some(layer) => self.stated_size(layer).unwrap_or(self.size_for(rating, wanted.ring)),
        };
        let most = size.breaker_ampere_max(metal).map(|most| {
            // Each point of a ring is fed from both ends.
            if wanted.ring { most * 1.5 } else { most }
        });
        if let (Some(rating), Some(most), Some(span)) =
            (rating, most, settings.sizing().and_then(size_span))
            && rating > most
        {
            self.say(
                Diagnostic::warning(
                    "breaker-too-big",
                    format!("a breaker of {rating} A is too big for wire of {}", size.words()),
                    span,
                )
                .with_expected(format!("a breaker of at most {most} A, or thicker wire"))
                .with_help("the wire can overheat before the breaker trips"),
            );
        }
        size
    }

    fn ground_size(&mut self, settings: &Settings<'f>, live: Size, wanted: CableUse<'f>) -> Size {
        if let Some(number) = settings.first(|layer| layer.ground_ohms_per_metre.as_ref()) {
            return Size::Ohms(self.amount(number, OHMS_PER_METRE));
        }
        if let Some(name) = settings.first(|layer| layer.ground_awg.as_ref()) {
            return self.awg(name).map_or(live, Size::Awg);
        }
        if let Some(number) = settings.first(|layer| layer.ground_mm2.as_ref()) {
            return self.mm2(number).map_or(live, Size::Mm2);
        }
        ground_for(live, wanted)
    }

    fn stated_size(&mut self, layer: &'f CableForm) -> Option<Size> {
        let stated = [
            layer.awg.as_ref().map(|name| name.span.clone()),
            layer.mm2.as_ref().map(|number| number.span.clone()),
            layer.ohms_per_metre.as_ref().map(|number| number.span.clone()),
            layer.ohms_per_1000_feet.as_ref().map(|number| number.span.clone()),
        ];
        let places: Vec<Span> = stated.into_iter().flatten().collect();
        if let [first, second, ..] = places.as_slice() {
            self.say(
                Diagnostic::error("size-twice", "the size is stated twice", second.clone())
                    .with_label(first.clone(), "first here")
                    .with_expected("one of `awg`, `mm2`, `ohms_per_metre`, `ohms_per_1000_feet`"),
            );
        }
        if let Some(name) = &layer.awg {
            return self.awg(name).map(Size::Awg);
        }
        if let Some(number) = &layer.mm2 {
            return self.mm2(number).map(Size::Mm2);
        }
        if let Some(number) = &layer.ohms_per_metre {
            return Some(Size::Ohms(self.amount(number, OHMS_PER_METRE)));
        }
        let per_kft = layer.ohms_per_1000_feet.as_ref()?;
        Some(Size::Ohms(self.amount(per_kft, OHMS_PER_KFT) / 304.8))
    }

    fn size_ohm_per_m(
        &mut self,
        size: Size,
        metal: Metal,
        celsius: f64,
        place: Option<Span>,
    ) -> f64 {
        let found = match size {
            Size::Awg(size) => size.resistance_ohm_per_m(metal, celsius),
            Size::Mm2(size) => size.resistance_ohm_per_m(metal, celsius),
            Size::Ohms(ohm_per_m) => Some(ohm_per_m),
        };
        if let Some(found) = found {
            return found;
        }
        if let Some(span) = place {
            self.say(
                Diagnostic::error(
                    "no-such-conductor",
                    format!("there is no aluminium conductor of {}", size.words()),
                    span,
                )
                .with_expected("10 mm² or more in aluminium, or copper"),
            );
        }
        5e-3
    }

    pub(super) fn awg(&mut self, name: &SizeName) -> Option<AwgSize> {
        let text = name.value.0.trim();
        let found = AwgSize::named(text);
        if found.is_none() {
            let names: Vec<&str> = AwgSize::all().iter().map(|size| size.name).collect();
            let diagnostic = Diagnostic::error(
                "unknown-size",
                format!("there is no wire gauge `{text}` here"),
                name.span.clone(),
            )
            .with_expected(format!("one of {}", names.join(", ")))
            .with_help("state `ohms_per_metre` for any other conductor");
            let plain = text.trim_end_matches("AWG").trim_end_matches("awg").trim();
            self.say(match AwgSize::named(plain) {
                Some(size) => diagnostic
                    .with_help(format!("did you mean {}?", size.name))
                    .with_replacement(awg_text(size)),
                None => diagnostic,
            });
        }
        found
    }

    pub(super) fn mm2(&mut self, number: &Number) -> Option<Mm2Size> {
        let found = Mm2Size::of_area(number.value);
        if found.is_none() {
            let sizes: Vec<String> =
                Mm2Size::all().iter().map(|size| size.area_mm2.to_string()).collect();
            let diagnostic = Diagnostic::error(
                "unknown-size",
                format!("there is no conductor of {} mm² here", number.value),
                number.span.clone(),
            )
            .with_expected(format!("one of {}", sizes.join(", ")))
            .with_help("state `ohms_per_metre` for any other conductor");
            self.say(with_nearest(diagnostic, &number.value.to_string(), &sizes));
        }
        found
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

    /// The usual size behind a breaker. North America: NEC 240.4(D) and the 75 °C column of
    /// 310.16. IEC: usual pairings of IEC 60364-5-52; a ring of 32 A is 2.5 mm².
    fn size_for(&self, rating_ampere: Option<f64>, ring: bool) -> Size {
        let american = [
            (15.0, "14"),
            (20.0, "12"),
            (30.0, "10"),
            (50.0, "8"),
            (65.0, "6"),
            (85.0, "4"),
            (100.0, "3"),
            (115.0, "2"),
            (130.0, "1"),
            (150.0, "1/0"),
            (175.0, "2/0"),
            (200.0, "3/0"),
        ];
        let metric = [
            (16.0, 1.5),
            (25.0, 2.5),
            (32.0, 4.0),
            (40.0, 6.0),
            (63.0, 10.0),
            (80.0, 16.0),
            (100.0, 25.0),
        ];
        if self.metric() {
            let rating = rating_ampere.unwrap_or(20.0) / if ring { 1.5 } else { 1.0 };
            let area = metric.iter().find(|(most, _)| rating <= *most).map_or(35.0, |row| row.1);
            Mm2Size::of_area(area).map_or(Size::Ohms(7.41e-3), Size::Mm2)
        } else {
            let rating = rating_ampere.unwrap_or(20.0);
            let name = american.iter().find(|(most, _)| rating <= *most).map_or("4/0", |row| row.1);
            AwgSize::named(name).map_or(Size::Ohms(5.21e-3), Size::Awg)
        }
    }
}

/// The usual ground beside conductors of a size. NEC 250.122: as the others up to 10 AWG, then
/// 10 up to 60 A, 8 up to 100 A, 6 above. IEC: as the others; 1.5 mm² in the 2.5 mm² cable of
/// a ring (BS 6004).
fn ground_for(live: Size, wanted: CableUse<'_>) -> Size {
    match live {
        Size::Awg(size) => {
            let rating = wanted.rating_ampere.unwrap_or(60.0);
            let name = match size.name {
                "14" | "12" | "10" => return live,
                _ if rating <= 60.0 => "10",
                _ if rating <= 100.0 => "8",
                _ => "6",
            };
            AwgSize::named(name).map_or(live, Size::Awg)
        }
        Size::Mm2(size) if wanted.ring && (size.area_mm2 - 2.5).abs() < 1e-9 => {
            Mm2Size::of_area(1.5).map_or(live, Size::Mm2)
        }
        Size::Mm2(_) | Size::Ohms(_) => live,
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

fn size_span(layer: &CableForm) -> Option<Span> {
    let awg = layer.awg.as_ref().map(|name| name.span.clone());
    let mm2 = layer.mm2.as_ref().map(|number| number.span.clone());
    awg.or(mm2)
}

fn awg_text(size: AwgSize) -> String {
    if size.name.contains('/') { format!("\"{}\"", size.name) } else { size.name.to_owned() }
}
