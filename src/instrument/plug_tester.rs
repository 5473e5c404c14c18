//! The plug-in indicator tester and its trip button.

use serde::{Deserialize, Serialize};

use super::bench::{Attached, Bench, Lean, Port};
use super::check::Check;
use super::indicator::{Indicator, IndicatorReading};
use super::phasor_form;
use super::place::Slot;
use super::problem::MeasureProblem;
use crate::circuit::Outlet;
use crate::netlist::{Law, NodeId};
use crate::quantity::Phasor;

/// A tester that is plugged in and shows which pairs of slots have voltage between them.
///
/// ```
/// use slotwise::instrument::{presets, Instrument};
/// let Instrument::PlugTester(tester) = presets::plug_tester_resistive() else { panic!() };
/// let spans: Vec<_> =
///     tester.indicators.iter().map(|i| format!("{}-{}", i.between.0, i.between.1)).collect();
/// assert_eq!(spans, ["hot-neutral", "hot-ground", "neutral-ground"]);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlugTester {
    /// What it is called.
    pub name: String,
    /// Receptacle configurations its plug fits, as `NEMA 5-15`; empty for test leads, which fit
    /// wherever the slots are.
    #[serde(default)]
    pub fits: Vec<String>,
    /// Its indicators, all attached at once.
    pub indicators: Vec<SpannedIndicator>,
    /// Its trip button, if it has one.
    #[serde(default)]
    pub button: Option<TripButton>,
}

/// An indicator and the two slots it spans.
///
/// ```
/// use slotwise::instrument::{presets, Instrument};
/// let Instrument::PlugTester(tester) = presets::plug_tester_glow_lamp() else { panic!() };
/// assert_eq!(tester.indicators[2].between, ("neutral".to_owned(), "ground".to_owned()));
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpannedIndicator {
    /// The two slots: `hot`, `hot2`, `neutral`, `ground`.
    pub between: (String, String),
    /// The indicator.
    pub indicator: Indicator,
}

/// The button of a plug-in tester: a resistance from the hot slot to the ground slot. Without a
/// ground it trips nothing and puts whatever hangs on that ground at hot potential.
///
/// ```
/// use slotwise::instrument::TripButton;
/// let button = TripButton { resistance_ohm: 15e3, pressed: true };
/// assert!((120.0 / button.resistance_ohm - 8e-3).abs() < 1e-9);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TripButton {
    /// Its resistance, ohms.
    pub resistance_ohm: f64,
    /// It is being pressed.
    #[serde(default)]
    pub pressed: bool,
}

/// What a plug-in tester shows.
///
/// ```
/// use slotwise::instrument::{measure_netlist, presets, Place, Request, Shown};
/// # use slotwise::netlist::{Law, Netlist, Role};
/// # use slotwise::quantity::{Address, Impedance, Phasor};
/// # let mut netlist = Netlist::new(60.0);
/// # let hot = netlist.node(&Address::from("hot"));
/// # let emf_volt = Phasor::new(120.0, 0.0);
/// # let impedance = Impedance::resistance(0.1);
/// # netlist.add("supply", hot, Netlist::EARTH, Role::Winding, Law::Source { emf_volt, impedance }).unwrap();
/// // Hot and neutral exchanged, ground sound.
/// let place = Place::slots([("hot", "earth"), ("neutral", "hot"), ("ground", "earth")]);
/// let request = Request::new(presets::plug_tester_resistive(), place);
/// let readings = measure_netlist(&netlist, &[request]).unwrap();
/// let Shown::PlugTester(shown) = &readings[0].shown else { panic!() };
/// assert_eq!(shown.pattern(), "hot-neutral lit, hot-ground dark, neutral-ground lit");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlugTesterReading {
    /// Each indicator, in the order of the instrument.
    pub indicators: Vec<IndicatorReading>,
    /// With the button pressed: current from the hot slot to the ground slot through it, amperes.
    #[serde(serialize_with = "phasor_form::optional")]
    pub button_ampere: Option<Phasor>,
    /// With the button pressed: potential to earth of the ground slot, volts.
    #[serde(serialize_with = "phasor_form::optional")]
    pub ground_volt: Option<Phasor>,
}

impl PlugTesterReading {
    /// The whole pattern in words, indicators named by the slots they span.
    pub fn pattern(&self) -> String {
        let word = |reading: &IndicatorReading| {
            format!("{}-{} {}", reading.between.0, reading.between.1, reading.state)
        };
        self.indicators.iter().map(word).collect::<Vec<_>>().join(", ")
    }
}

/// A slot of the place with its node.
pub(super) struct Contact<'p> {
    pub(super) name: &'p str,
    pub(super) node: NodeId,
}

impl PlugTester {
    /// Why it does not go into a receptacle with these slots, if it does not. A place that is no
    /// receptacle of the circuit has no configuration (empty), and any plug fits.
    pub(super) fn misfit(&self, configuration: &str, slots: &[Slot]) -> Option<String> {
        let known = !configuration.is_empty() && !self.fits.is_empty();
        if known && !self.fits.iter().any(|fitting| fitting == configuration) {
            return Some(format!("its plug goes into {}", self.fits.join(", ")));
        }
        let mut needed = self
            .indicators
            .iter()
            .flat_map(|spanned| [spanned.between.0.as_str(), spanned.between.1.as_str()]);
        let missing = needed.find(|name| !slots.iter().any(|slot| slot.name == *name))?;
        Some(format!("the receptacle has no {missing} slot"))
    }

    /// Whether its plug fits a receptacle that has every slot it looks at.
    pub(crate) fn goes_into(&self, outlet: &Outlet) -> bool {
        let has = |name: &String| outlet.slots.iter().any(|(slot, _)| slot == name);
        let mut spans = self.indicators.iter().map(|spanned| &spanned.between);
        (self.fits.is_empty() || self.fits.contains(&outlet.configuration))
            && spans.all(|(p, q)| has(p) && has(q))
    }

    fn pressed(&self) -> Option<TripButton> {
        self.button.filter(|button| button.pressed)
    }

    /// Whether its button is held down.
    pub(super) fn is_pressed(&self) -> bool {
        self.pressed().is_some()
    }

    /// Its inputs: one for each indicator, then with the button pressed two more. `contacts` has
    /// every slot it needs.
    pub(super) fn ports(&self, contacts: &[Contact<'_>], lean: Lean) -> Vec<Port> {
        let node = |name: &str| contacts.iter().find(|contact| contact.name == name);
        let port = |(from, to): (&str, &str), law| {
            Some(Port { from: node(from)?.node, to: node(to)?.node, law })
        };
        let mut ports: Vec<Port> = self
            .indicators
            .iter()
            .filter_map(|spanned| {
                let between = (spanned.between.0.as_str(), spanned.between.1.as_str());
                port(between, spanned.indicator.law.in_network(lean))
            })
            .collect();
        if let Some(button) = self.pressed() {
            ports.extend(port(("hot", "ground"), Law::resistance(button.resistance_ohm)));
            ports.extend(node("ground").map(|ground| Port {
                from: ground.node,
                to: crate::netlist::Netlist::EARTH,
                law: Law::Open,
            }));
        }
        ports
    }

    /// What it shows when its inputs are numbers `first..` of what is attached.
    pub(super) fn read(
        &self,
        reluctant: &Attached,
        willing: &Attached,
        first: usize,
    ) -> PlugTesterReading {
        let indicators: Vec<IndicatorReading> = self
            .indicators
            .iter()
            .enumerate()
            .map(|(place, spanned)| {
                let between = (spanned.between.0.as_str(), spanned.between.1.as_str());
                spanned.indicator.read(between, first + place, reluctant, willing)
            })
            .collect();
        let button = first + indicators.len();
        let pressed = self.is_pressed();
        PlugTesterReading {
            button_ampere: pressed.then(|| reluctant.current(button)),
            ground_volt: if pressed { reluctant.voltage(button + 1) } else { None },
            indicators,
        }
    }

    /// Whether an own threshold is a band, so that both of its ends have to be tried.
    pub(super) fn is_uncertain(&self) -> bool {
        self.indicators.iter().any(|spanned| spanned.indicator.law.is_uncertain())
    }

    /// Whether an indicator remembers, so that other states than the one reached matter.
    pub(super) fn remembers(&self) -> bool {
        self.indicators.iter().any(|spanned| spanned.indicator.law.remembers())
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.that(
            "indicators",
            !self.indicators.is_empty(),
            "is empty, a tester has at least one",
        );
        check.each("indicators", &self.indicators, |check, spanned| {
            let two = spanned.between.0 != spanned.between.1;
            check.that("between", two, "must name two different slots");
            for slot in [&spanned.between.0, &spanned.between.1] {
                check.that_with("between", SLOTS.contains(&slot.as_str()), || {
                    format!("names `{slot}`, must name two of {}", SLOTS.join(", "))
                });
            }
            check.inside("indicator", |check| spanned.indicator.check(check));
        });
        if let Some(button) = self.button {
            check.inside("button", |check| check.positive("resistance_ohm", button.resistance_ohm));
        }
    }
}

/// The slots there are.
const SLOTS: [&str; 5] = ["hot", "hot2", "hot3", "neutral", "ground"];

/// Slots as nodes.
pub(super) fn contacts<'p>(
    bench: &Bench<'_>,
    slots: &'p [Slot],
) -> Result<Vec<Contact<'p>>, MeasureProblem> {
    slots
        .iter()
        .map(|slot| Ok(Contact { name: &slot.name, node: bench.node(&slot.terminal)? }))
        .collect()
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;
    use crate::instrument::{Instrument, Place, Request, Shown, measure_netlist, presets};
    use crate::netlist::{Netlist, Role};
    use crate::quantity::{Address, Impedance};

    fn tester(preset: &str) -> PlugTester {
        let Some(Instrument::PlugTester(tester)) = presets::named(preset) else { panic!() };
        tester
    }

    #[test]
    fn only_glow_lamps_have_a_threshold_of_their_own_that_is_a_band_and_only_one_kind_remembers() {
        for (preset, is_uncertain, remembers) in [
            ("tester", false, false),
            ("tester-solid-state", false, false),
            ("tester-glow-lamp", true, false),
            ("tester-glow-lamp-memory", true, true),
        ] {
            let tester = tester(preset);
            let found = (tester.is_uncertain(), tester.remembers());
            assert_eq!(found, (is_uncertain, remembers), "{preset}");
        }
    }

    /// Shown in a receptacle with its neutral left off and a kilohm in its ground.
    fn shown(preset: &str) -> PlugTesterReading {
        let mut netlist = Netlist::new(60.0);
        let [hot, neutral, ground] =
            ["hot", "neutral", "ground"].map(|name| netlist.node(&Address::from(name)));
        let emf_volt = Phasor::new(120.0, 0.0);
        let source = Law::Source { emf_volt, impedance: Impedance::resistance(0.0) };
        let mut add = |id: &str, a, b, law| netlist.add(id, a, b, Role::Lumped, law).unwrap();
        add("supply", hot, Netlist::EARTH, source);
        add("lamp left on", hot, neutral, Law::resistance(100.0));
        add("ground wire", ground, Netlist::EARTH, Law::resistance(1e3));
        let place = Place::slots([("hot", "hot"), ("neutral", "neutral"), ("ground", "ground")]);
        let request = Request::new(Instrument::PlugTester(tester(preset)), place);
        match measure_netlist(&netlist, &[request]).unwrap().remove(0).shown {
            Shown::PlugTester(shown) => shown,
            other => panic!("{other:?}"),
        }
    }

    /// Dividers of exact figures.
    const ROUNDING: f64 = 1e-9;

    #[test]
    fn with_its_button_pressed_the_ground_pin_is_as_live_as_the_ground_wire_has_ohms() {
        let pressed = shown("tester-button");
        // Three ways in series with the kilohm: the button, the lamp beside it, and the lamp from
        // the neutral slot, which hangs on hot through the load and the lamp between the two.
        let [button, lamp, load] = [15e3, 68e3, 100.0];
        let by_neutral = lamp + 1.0 / (1.0 / lamp + 1.0 / load);
        let three_ways = 1.0 / (1.0 / button + 1.0 / lamp + 1.0 / by_neutral);
        let volt = 120.0 * 1e3 / (1e3 + three_ways);
        let ground = pressed.ground_volt.unwrap();
        assert_relative_eq!(ground.re, volt, max_relative = ROUNDING);
        let ampere = pressed.button_ampere.unwrap();
        assert_relative_eq!(ampere.re, (120.0 - volt) / button, max_relative = ROUNDING);
    }

    #[test]
    fn a_button_that_nobody_presses_draws_nothing_and_says_nothing_of_the_ground() {
        let idle = shown("tester");
        assert_eq!((idle.button_ampere, idle.ground_volt), (None, None));
    }
}
