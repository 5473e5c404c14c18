//! Standard receptacles and the slots they have.

/// A standard receptacle.
///
/// ```
/// use slotwise::circuit::Configuration;
/// let range = Configuration::named("NEMA 14-50").unwrap();
/// assert_eq!(range.slots, ["hot", "hot2", "neutral", "ground"]);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Configuration {
    /// Its name.
    pub name: &'static str,
    /// Conductors of its slots.
    pub slots: &'static [&'static str],
    /// Whether hot and neutral slots are told apart; where not, a plug may go in either way.
    pub polarised: bool,
    /// Rated current in amperes.
    pub rating_ampere: u16,
}

const HNG: &[&str] = &["hot", "neutral", "ground"];
const HN: &[&str] = &["hot", "neutral"];
const HHG: &[&str] = &["hot", "hot2", "ground"];
const HHN: &[&str] = &["hot", "hot2", "neutral"];
const HHNG: &[&str] = &["hot", "hot2", "neutral", "ground"];
const HHHG: &[&str] = &["hot", "hot2", "hot3", "ground"];
const HHHNG: &[&str] = &["hot", "hot2", "hot3", "neutral", "ground"];

const fn row(
    name: &'static str,
    slots: &'static [&'static str],
    polarised: bool,
    rating_ampere: u16,
) -> Configuration {
    Configuration { name, slots, polarised, rating_ampere }
}

/// NEMA WD 6; IEC TR 60083, IEC 60884, BS 1363, AS/NZS 3112, IEC 60906-1, IEC 60309.
const TABLE: &[Configuration] = &[
    row("NEMA 1-15", HN, true, 15),
    row("NEMA 5-15", HNG, true, 15),
    row("NEMA 5-20", HNG, true, 20),
    row("NEMA 5-30", HNG, true, 30),
    row("NEMA 5-50", HNG, true, 50),
    row("NEMA 6-15", HHG, true, 15),
    row("NEMA 6-20", HHG, true, 20),
    row("NEMA 6-30", HHG, true, 30),
    row("NEMA 6-50", HHG, true, 50),
    row("NEMA 10-30", HHN, true, 30),
    row("NEMA 10-50", HHN, true, 50),
    row("NEMA 14-20", HHNG, true, 20),
    row("NEMA 14-30", HHNG, true, 30),
    row("NEMA 14-50", HHNG, true, 50),
    row("NEMA 14-60", HHNG, true, 60),
    row("NEMA 15-30", HHHG, true, 30),
    row("NEMA L5-15", HNG, true, 15),
    row("NEMA L5-20", HNG, true, 20),
    row("NEMA L5-30", HNG, true, 30),
    row("NEMA L6-20", HHG, true, 20),
    row("NEMA L6-30", HHG, true, 30),
    row("NEMA L14-20", HHNG, true, 20),
    row("NEMA L14-30", HHNG, true, 30),
    row("NEMA L21-20", HHHNG, true, 20),
    row("NEMA L21-30", HHHNG, true, 30),
    row("NEMA TT-30", HNG, true, 30),
    row("CEE 7/1", HN, false, 16),
    row("CEE 7/3", HNG, false, 16),
    row("CEE 7/5", HNG, true, 16),
    row("CEE 7/16", HN, false, 2),
    row("BS 1363", HNG, true, 13),
    row("BS 546 5 A", HNG, true, 5),
    row("BS 546 15 A", HNG, true, 15),
    row("AS/NZS 3112 10 A", HNG, true, 10),
    row("AS/NZS 3112 15 A", HNG, true, 15),
    row("IEC 60906-1", HNG, true, 16),
    row("IEC 60309 16 A 2P+E", HNG, true, 16),
    row("IEC 60309 32 A 2P+E", HNG, true, 32),
    row("IEC 60309 16 A 3P+E", HHHG, true, 16),
    row("IEC 60309 16 A 3P+N+E", HHHNG, true, 16),
    row("IEC 60309 32 A 3P+N+E", HHHNG, true, 32),
];

impl Configuration {
    /// All configurations known.
    pub const fn all() -> &'static [Self] {
        TABLE
    }

    /// The configuration of that name, as `NEMA 5-15` or `BS 1363`.
    pub fn named(name: &str) -> Option<Self> {
        TABLE.iter().copied().find(|configuration| configuration.name == name)
    }

    /// Whether it has a slot for that conductor.
    pub fn has(self, conductor: &str) -> bool {
        self.slots.contains(&conductor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_configurations_share_a_name_and_every_one_has_a_hot_slot() {
        for (place, configuration) in TABLE.iter().enumerate() {
            assert!(configuration.has("hot"), "{}", configuration.name);
            assert!(TABLE[place + 1..].iter().all(|other| other.name != configuration.name));
        }
    }
}
