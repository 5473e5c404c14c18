//! Capacitance and insulation between the conductors of a cable, and to earth.

use crate::circuit::wiring::CablePair;

/// How a cable is made.
///
/// ```
/// use slotwise::circuit::table::Construction;
/// use slotwise::circuit::table::insulation::capacitance_farad_per_m;
/// let wires = ["hot", "neutral", "ground"].map(str::to_owned);
/// let pairs = capacitance_farad_per_m(Construction::Sheathed, &wires, false);
/// // Three pairs, and each wire to earth.
/// assert_eq!(pairs.len(), 6);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Construction {
    /// Conductors in one sheath; two insulated ones lie flat with a bare ground between.
    #[default]
    Sheathed,
    /// Single conductors in plastic conduit.
    PlasticConduit,
    /// Single conductors in steel conduit or tubing.
    SteelConduit,
    /// Single wires on supports 0.3 m apart, without sheath.
    OpenWires,
}

const PICO: f64 = 1e-12;

/// Flat cable, bare ground between hot and neutral: 58..73 pF/m by field calculation for
/// insulation of relative permittivity 3.5..6.5.
const FLAT_TO_GROUND: f64 = 70.0 * PICO;
/// The same, hot to neutral: the ground between shields all but 12..20 pF/m.
const FLAT_ACROSS: f64 = 16.0 * PICO;
/// Insulated wires side by side, bundled: 42..66 pF/m.
const BUNDLED: f64 = 54.0 * PICO;
/// Two insulated wires in one sheath without a ground: 42..57 pF/m.
const TWO_WIRE: f64 = 50.0 * PICO;
/// A wire lying in steel conduit: 98..171 pF/m against the wall, 17 in mid-bore.
const TO_STEEL: f64 = 100.0 * PICO;
/// Two open wires of radius 1 mm 0.3 m apart: π ε₀ / ln(d/r).
const OPEN_ACROSS: f64 = 5.0 * PICO;
/// An open wire of radius 1 mm 0.3 m from earthed surroundings: 2 π ε₀ / ln(2h/r).
const OPEN_TO_EARTH: f64 = 8.7 * PICO;
/// A whole cable of radius 5 mm 0.3 m from earthed surroundings: 2 π ε₀ / ln(2h/r), shared
/// by its conductors.
const SHEATH_TO_EARTH: f64 = 11.6 * PICO;

/// Insulation of one pair, Ω·m: 0.3 MΩ per 1000 ft, hence 10 GΩ for 10 m, of PVC.
const INSULATION_OHM_M: f64 = 1e11;

/// Capacitance in F/m between the conductors of a cable and from each to earth. `raceway`
/// says that `ground` is the steel conduit itself.
pub fn capacitance_farad_per_m(
    construction: Construction,
    conductors: &[String],
    raceway: bool,
) -> Vec<CablePair> {
    let insulated = conductors.iter().filter(|name| *name != "ground").count();
    let grounded = insulated < conductors.len();
    let mut pairs = Vec::new();
    for (place, first) in conductors.iter().enumerate() {
        for second in &conductors[place + 1..] {
            let with_ground = first == "ground" || second == "ground";
            let value = match construction {
                Construction::OpenWires => OPEN_ACROSS,
                Construction::SteelConduit if with_ground && raceway => TO_STEEL,
                Construction::SteelConduit | Construction::PlasticConduit => BUNDLED,
                Construction::Sheathed if with_ground => FLAT_TO_GROUND,
                Construction::Sheathed if insulated == 2 && grounded => FLAT_ACROSS,
                Construction::Sheathed if insulated == 2 => TWO_WIRE,
                Construction::Sheathed => BUNDLED,
            };
            pairs.push(pair(first, second, value));
        }
        let to_earth = match construction {
            Construction::OpenWires => OPEN_TO_EARTH,
            // Steel that is not the ground conductor is fastened to earthed structure.
            Construction::SteelConduit if !raceway => TO_STEEL,
            Construction::SteelConduit if first != "ground" => continue,
            Construction::SteelConduit => SHEATH_TO_EARTH,
            // As many conductors as a cable has: far below 2^52.
            _ => SHEATH_TO_EARTH / conductors.len() as f64,
        };
        pairs.push(pair(first, "earth", to_earth));
    }
    pairs
}

/// Insulation in Ω·m: between each two insulated conductors, and from each to the ground
/// conductor, or to earth where there is none.
pub fn insulation_ohm_m(conductors: &[String]) -> Vec<CablePair> {
    let grounded = conductors.iter().any(|name| name == "ground");
    let mut pairs = Vec::new();
    for (place, first) in conductors.iter().enumerate() {
        for second in &conductors[place + 1..] {
            pairs.push(pair(first, second, INSULATION_OHM_M));
        }
        if !grounded {
            pairs.push(pair(first, "earth", INSULATION_OHM_M));
        }
    }
    pairs
}

fn pair(first: &str, second: &str, value: f64) -> CablePair {
    CablePair { between: (first.to_owned(), second.to_owned()), value }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(pairs: &[CablePair], first: &str, second: &str) -> f64 {
        pairs
            .iter()
            .find(|pair| pair.between == (first.to_owned(), second.to_owned()))
            .map_or(0.0, |pair| pair.value)
    }

    #[test]
    fn the_ground_of_a_flat_cable_shields_hot_from_neutral() {
        let names = ["hot", "neutral", "ground"].map(str::to_owned);
        let pairs = capacitance_farad_per_m(Construction::Sheathed, &names, false);
        let across = value(&pairs, "hot", "neutral");
        let to_ground = value(&pairs, "hot", "ground");
        assert!(across * 4.0 < to_ground);
    }

    #[test]
    fn insulation_of_ten_metres_is_ten_gigaohms() {
        let names = ["hot", "neutral", "ground"].map(str::to_owned);
        let ten_metres = value(&insulation_ohm_m(&names), "hot", "ground") / 10.0;
        assert!((ten_metres - 10e9).abs() < 1.0);
    }
}
