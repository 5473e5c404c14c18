//! Sizes of conductors: stated, or those usual behind a breaker.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::expand::Expansion;
use crate::circuit::file::expand::amount::{OHMS_PER_KFT, OHMS_PER_METRE};
use crate::circuit::file::form::{CableForm, Number, SizeName};
use crate::circuit::file::near::with_nearest;
use crate::circuit::file::tree::Span;
use crate::circuit::table::{AwgSize, Metal, Mm2Size};

use super::{CableUse, Settings};

/// A conductor's size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Size {
    Awg(AwgSize),
    Mm2(Mm2Size),
    /// Stated ohms per metre.
    Ohms(f64),
}

impl Size {
    pub(super) fn area_mm2(self) -> f64 {
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

    pub(super) fn ampacity_ampere(self, metal: Metal) -> Option<f64> {
        match self {
            Self::Awg(size) => size.ampacity_ampere(metal),
            Self::Mm2(size) => size.ampacity_ampere(metal),
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

pub(super) fn size_span(layer: &CableForm) -> Option<Span> {
    let awg = layer.awg.as_ref().map(|name| name.span.clone());
    let mm2 = layer.mm2.as_ref().map(|number| number.span.clone());
    awg.or(mm2)
}

fn awg_text(size: AwgSize) -> String {
    if size.name.contains('/') { format!("\"{}\"", size.name) } else { size.name.to_owned() }
}

impl<'f> Expansion<'f> {
    pub(super) fn live_size(
        &mut self,
        settings: &Settings<'f>,
        wanted: CableUse<'f>,
        metal: Metal,
    ) -> Size {
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

    pub(super) fn ground_size(
        &mut self,
        settings: &Settings<'f>,
        live: Size,
        wanted: CableUse<'f>,
    ) -> Size {
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

    pub(super) fn size_ohm_per_m(
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

    pub(crate) fn awg(&mut self, name: &SizeName) -> Option<AwgSize> {
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
            let plain = text.trim_matches(|c: char| !c.is_ascii_digit());
            // `12/2` is said of two wires of 12; `1/0` is a size.
            let wires = || AwgSize::named(plain.split_once('/')?.0);
            self.say(match AwgSize::named(plain).or_else(wires) {
                Some(size) => diagnostic
                    .with_help(format!("did you mean `{}`?", size.name))
                    .with_replacement(awg_text(size)),
                None => diagnostic,
            });
        }
        found
    }

    pub(crate) fn mm2(&mut self, number: &Number) -> Option<Mm2Size> {
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
