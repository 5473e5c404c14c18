//! Resistance and reactance of conductors by size, metal and temperature.

/// Metal of a conductor.
///
/// ```
/// use slotwise::circuit::table::{AwgSize, Metal};
/// let size = AwgSize::named("4/0").unwrap();
/// let copper = size.resistance_ohm_per_m(Metal::Copper, 75.0);
/// assert!(copper < size.resistance_ohm_per_m(Metal::Aluminium, 75.0));
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Metal {
    /// Copper.
    #[default]
    Copper,
    /// Aluminium.
    Aluminium,
}

/// 1 Ω per 1000 ft in Ω/m.
pub const OHM_PER_METRE_OF_OHM_PER_KFT: f64 = 1.0 / 304.8;

/// A size of the American wire gauge.
///
/// ```
/// use slotwise::circuit::table::{AwgSize, Metal};
/// let twelve = AwgSize::named("12").unwrap();
/// let ohm_per_m = twelve.resistance_ohm_per_m(Metal::Copper, 20.0).unwrap();
/// assert!((ohm_per_m - 5.21e-3).abs() < 0.01e-3);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AwgSize {
    /// Its name: `14`, `1/0`.
    pub name: &'static str,
    /// Area in mm² (from circular mils: 1 cmil = 5.067e-4 mm²).
    pub area_mm2: f64,
    /// Direct-current resistance of uncoated copper at 75 °C, Ω per 1000 ft: NEC chapter 9
    /// table 8, solid up to 8 AWG, stranded above.
    copper_ohm_per_kft: f64,
    /// The same of aluminium.
    aluminium_ohm_per_kft: f64,
    /// Reactance at 60 Hz of single conductors in plastic conduit, Ω per 1000 ft: NEC
    /// chapter 9 table 9.
    plastic_reactance_ohm_per_kft: f64,
    /// The same in steel conduit.
    steel_reactance_ohm_per_kft: f64,
}

const fn awg(name: &'static str, cmil: f64, resistance: [f64; 2], reactance: [f64; 2]) -> AwgSize {
    AwgSize {
        name,
        area_mm2: cmil * 5.067e-4,
        copper_ohm_per_kft: resistance[0],
        aluminium_ohm_per_kft: resistance[1],
        plastic_reactance_ohm_per_kft: reactance[0],
        steel_reactance_ohm_per_kft: reactance[1],
    }
}

/// NEC chapter 9 tables 8 and 9.
const AWG: [AwgSize; 13] = [
    awg("14", 4110.0, [3.07, 5.06], [0.058, 0.073]),
    awg("12", 6530.0, [1.93, 3.18], [0.054, 0.068]),
    awg("10", 10380.0, [1.21, 2.00], [0.050, 0.063]),
    awg("8", 16510.0, [0.764, 1.26], [0.052, 0.065]),
    awg("6", 26240.0, [0.491, 0.808], [0.051, 0.064]),
    awg("4", 41740.0, [0.308, 0.508], [0.048, 0.060]),
    awg("3", 52620.0, [0.245, 0.403], [0.047, 0.059]),
    awg("2", 66360.0, [0.194, 0.319], [0.045, 0.057]),
    awg("1", 83690.0, [0.154, 0.253], [0.046, 0.057]),
    awg("1/0", 105_600.0, [0.122, 0.201], [0.044, 0.055]),
    awg("2/0", 133_100.0, [0.0967, 0.159], [0.043, 0.054]),
    awg("3/0", 167_800.0, [0.0766, 0.126], [0.042, 0.052]),
    awg("4/0", 211_600.0, [0.0608, 0.100], [0.041, 0.051]),
];

impl AwgSize {
    /// All sizes known, thin to thick.
    pub const fn all() -> &'static [Self] {
        &AWG
    }

    /// The size of that name.
    pub fn named(name: &str) -> Option<Self> {
        AWG.into_iter().find(|size| size.name == name)
    }

    /// Resistance in Ω/m at `celsius`, by the law printed with the table,
    /// R = R₇₅ [1 + α (T - 75)], α = 0.00323 for copper and 0.00330 for aluminium.
    /// `None` where the law gives nothing above zero.
    pub fn resistance_ohm_per_m(self, metal: Metal, celsius: f64) -> Option<f64> {
        let (at_75, alpha) = match metal {
            Metal::Copper => (self.copper_ohm_per_kft, 0.003_23),
            Metal::Aluminium => (self.aluminium_ohm_per_kft, 0.003_30),
        };
        above_zero(at_75 * OHM_PER_METRE_OF_OHM_PER_KFT * (1.0 + alpha * (celsius - 75.0)))
    }

    /// Reactance in Ω/m at `frequency_hz` of single conductors in plastic or steel conduit.
    pub fn conduit_reactance_ohm_per_m(self, steel: bool, frequency_hz: f64) -> f64 {
        let at_60 = if steel {
            self.steel_reactance_ohm_per_kft
        } else {
            self.plastic_reactance_ohm_per_kft
        };
        at_60 * OHM_PER_METRE_OF_OHM_PER_KFT * frequency_hz / 60.0
    }

    /// Current in amperes it is good for at most behind a breaker in a dwelling's branch
    /// circuit: NEC 240.4(D) for small conductors, else the 75 °C column of NEC 310.16
    /// (copper). `None` above 6 AWG and for aluminium.
    pub fn breaker_ampere_max(self, metal: Metal) -> Option<f64> {
        match (metal, self.name) {
            (Metal::Copper, "14") => Some(15.0),
            (Metal::Copper, "12") => Some(20.0),
            (Metal::Copper, "10") => Some(30.0),
            (Metal::Copper, "8") => Some(50.0),
            (Metal::Copper, "6") => Some(65.0),
            _ => None,
        }
    }

    /// Current in amperes it is good for without end: NEC 240.4(D) for small conductors, else the
    /// 75 °C column of NEC 310.16, three current-carrying conductors in cable at 30 °C.
    pub fn ampacity_ampere(self, metal: Metal) -> Option<f64> {
        let &(_, copper, aluminium) = NEC_310_16.iter().find(|row| row.0 == self.name)?;
        match metal {
            Metal::Copper => Some(copper),
            Metal::Aluminium => aluminium,
        }
    }
}

/// Size, copper, aluminium: amperes.
const NEC_310_16: [(&str, f64, Option<f64>); 13] = [
    ("14", 15.0, None),
    ("12", 20.0, Some(15.0)),
    ("10", 30.0, Some(25.0)),
    ("8", 50.0, Some(40.0)),
    ("6", 65.0, Some(50.0)),
    ("4", 85.0, Some(65.0)),
    ("3", 100.0, Some(75.0)),
    ("2", 115.0, Some(90.0)),
    ("1", 130.0, Some(100.0)),
    ("1/0", 150.0, Some(120.0)),
    ("2/0", 175.0, Some(135.0)),
    ("3/0", 200.0, Some(155.0)),
    ("4/0", 230.0, Some(180.0)),
];

/// A size of IEC 60228.
///
/// ```
/// use slotwise::circuit::table::{Metal, Mm2Size};
/// let size = Mm2Size::of_area(2.5).unwrap();
/// assert_eq!(size.resistance_ohm_per_m(Metal::Copper, 20.0), Some(7.41e-3));
/// assert_eq!(size.resistance_ohm_per_m(Metal::Aluminium, 20.0), None);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mm2Size {
    /// Nominal area in mm².
    pub area_mm2: f64,
    /// Greatest direct-current resistance of copper class 1 and 2 at 20 °C, mΩ/m.
    copper_milliohm_per_m: f64,
    /// The same of aluminium, where the standard has it.
    aluminium_milliohm_per_m: Option<f64>,
}

const fn mm2(area_mm2: f64, copper: f64, aluminium: Option<f64>) -> Mm2Size {
    Mm2Size { area_mm2, copper_milliohm_per_m: copper, aluminium_milliohm_per_m: aluminium }
}

/// IEC 60228, greatest resistance at 20 °C, which makers keep close to.
const MM2: [Mm2Size; 9] = [
    mm2(1.0, 18.1, None),
    mm2(1.5, 12.1, None),
    mm2(2.5, 7.41, None),
    mm2(4.0, 4.61, None),
    mm2(6.0, 3.08, None),
    mm2(10.0, 1.83, Some(3.08)),
    mm2(16.0, 1.15, Some(1.91)),
    mm2(25.0, 0.727, Some(1.20)),
    mm2(35.0, 0.524, Some(0.868)),
];

impl Mm2Size {
    /// All sizes known, thin to thick.
    pub const fn all() -> &'static [Self] {
        &MM2
    }

    /// The size of that nominal area in mm².
    pub fn of_area(area_mm2: f64) -> Option<Self> {
        MM2.into_iter().find(|size| (size.area_mm2 - area_mm2).abs() < 1e-9)
    }

    /// Resistance in Ω/m at `celsius`, R = R₂₀ [1 + α (T - 20)] with the coefficients of
    /// IEC 60028 and IEC 60889, α = 0.00393 for copper and 0.00403 for aluminium. `None` where
    /// the standard has no such conductor or the law gives nothing above zero.
    pub fn resistance_ohm_per_m(self, metal: Metal, celsius: f64) -> Option<f64> {
        let (milliohm, alpha) = match metal {
            Metal::Copper => (self.copper_milliohm_per_m, 0.003_93),
            Metal::Aluminium => (self.aluminium_milliohm_per_m?, 0.004_03),
        };
        above_zero(milliohm * 1e-3 * (1.0 + alpha * (celsius - 20.0)))
    }

    /// Current in amperes it is good for at most behind a breaker: usual pairings of
    /// IEC 60364-5-52, copper, clipped direct. A ring final circuit feeds each point twice.
    pub fn breaker_ampere_max(self, metal: Metal) -> Option<f64> {
        if metal == Metal::Aluminium {
            return None;
        }
        let table = [(1.0, 13.0), (1.5, 16.0), (2.5, 25.0), (4.0, 32.0), (6.0, 40.0), (10.0, 63.0)];
        table
            .into_iter()
            .find(|(area_mm2, _)| (area_mm2 - self.area_mm2).abs() < 1e-9)
            .map(|(_, ampere)| ampere)
    }

    /// Current in amperes it is good for without end: IEC 60364-5-52 table B.52.2, method C
    /// (clipped direct, two loaded conductors, PVC, 30 °C).
    pub fn ampacity_ampere(self, metal: Metal) -> Option<f64> {
        let row = IEC_B_52_2.iter().find(|(area_mm2, ..)| (area_mm2 - self.area_mm2).abs() < 1e-9);
        let &(_, copper, aluminium) = row?;
        match metal {
            Metal::Copper => Some(copper),
            Metal::Aluminium => aluminium,
        }
    }
}

/// Area in mm², copper, aluminium: amperes.
const IEC_B_52_2: [(f64, f64, Option<f64>); 9] = [
    (1.0, 15.0, None),
    (1.5, 19.5, None),
    (2.5, 27.0, None),
    (4.0, 36.0, None),
    (6.0, 46.0, None),
    (10.0, 63.0, Some(49.0)),
    (16.0, 85.0, Some(66.0)),
    (25.0, 112.0, Some(83.0)),
    (35.0, 138.0, Some(103.0)),
];

/// Inductance per metre of one conductor in a sheathed cable whose conductors touch: 0.29 µH,
/// which is 0.09 mΩ/m at 50 Hz and 0.11 mΩ/m at 60 Hz (the usual 0.08..0.12 mΩ/m).
const SHEATHED_HENRY_PER_M: f64 = 0.29e-6;

/// Reactance in Ω/m at `frequency_hz` of one conductor of a sheathed cable.
pub fn sheathed_reactance_ohm_per_m(frequency_hz: f64) -> f64 {
    std::f64::consts::TAU * frequency_hz * SHEATHED_HENRY_PER_M
}

/// Reactance in Ω/m at `frequency_hz` of one of two open wires 0.3 m apart, radius 1 mm:
/// L = (µ₀/2π) ln(d/r).
pub fn open_wire_reactance_ohm_per_m(frequency_hz: f64) -> f64 {
    std::f64::consts::TAU * frequency_hz * 2e-7 * libm::log(0.3 / 0.001)
}

/// Reactance in Ω/m at `frequency_hz` of single conductors of `area_mm2` in conduit, taken
/// from the AWG size nearest in area.
pub fn conduit_reactance_ohm_per_m(area_mm2: f64, steel: bool, frequency_hz: f64) -> f64 {
    let distance = |size: &AwgSize| libm::log(size.area_mm2 / area_mm2).abs();
    let nearest = AWG
        .into_iter()
        .min_by(|one, other| distance(one).total_cmp(&distance(other)))
        .unwrap_or(AWG[0]);
    nearest.conduit_reactance_ohm_per_m(steel, frequency_hz)
}

/// Resistance in Ω/m of steel tubing of trade size ½ as a conductor: 57 mm² of steel at
/// 0.15 µΩ m is 2.6 mΩ/m; a 1 mΩ coupling every 3 m adds 0.3 mΩ/m.
pub const RACEWAY_OHM_PER_M: f64 = 2.9e-3;

/// Reactance in Ω/m at 60 Hz of steel tubing as a return path: three times that of a wire in
/// steel conduit (0.22 mΩ/m). Steel's permeability makes this a coarse figure.
pub const RACEWAY_REACTANCE_OHM_PER_M_AT_60: f64 = 0.66e-3;

fn above_zero(value: f64) -> Option<f64> {
    (value.is_finite() && value > 0.0).then_some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Printed tables carry three digits.
    const PRINTED_DIGITS: f64 = 5e-3;

    #[test]
    fn copper_at_20_degrees_agrees_with_the_values_from_area_and_conductivity() {
        for (name, ohm_per_km) in
            [("14", 8.28), ("12", 5.21), ("10", 3.28), ("6", 1.30), ("2", 0.513), ("4/0", 0.161)]
        {
            let size = AwgSize::named(name).unwrap();
            let found = size.resistance_ohm_per_m(Metal::Copper, 20.0).unwrap() * 1e3;
            // Stranded sizes lie 2 % above a solid conductor of the same area.
            assert!((found / ohm_per_km - 1.0).abs() < 0.02 + PRINTED_DIGITS, "{name}: {found}");
        }
    }

    #[test]
    fn copper_of_iec_sizes_gains_a_fifth_from_20_to_70_degrees() {
        let size = Mm2Size::of_area(2.5).unwrap();
        let ratio = size.resistance_ohm_per_m(Metal::Copper, 70.0).unwrap()
            / size.resistance_ohm_per_m(Metal::Copper, 20.0).unwrap();
        assert!((ratio - 1.20).abs() < PRINTED_DIGITS, "{ratio}");
    }

    #[test]
    fn no_temperature_gives_a_resistance_of_zero_or_less() {
        for size in AwgSize::all() {
            for celsius in [-400.0, -273.15, -235.0, f64::NAN, f64::INFINITY] {
                let found = size.resistance_ohm_per_m(Metal::Copper, celsius);
                assert!(found.is_none_or(|ohm| ohm > 0.0 && ohm.is_finite()));
            }
        }
    }
}
