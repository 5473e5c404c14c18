//! What a hypothesis would show: the one place where diagnosis solves networks.
//!
//! Hypotheses are asked by the ten thousand, and each differs from the circuit by a few edits: so
//! they go through [`ManyConditions`], loads switched on being edits like any other. There, what a
//! load draws is taken as the impedance that draws its power at its usual voltage. What trips at
//! once, and what an instrument without plain impedances shows, is solved as a whole, exactly.

use std::sync::{Arc, Mutex, PoisonError};

use crate::circuit::Circuit;
use crate::condition::Condition;
use crate::instrument::measure_netlist;
use crate::lookalike::Settling;
use crate::netlist::Netlist;
use crate::solution::Solution;

use super::look::Looks;
use super::possible::Possible;
use super::quick::{Quick, base};
use super::wall_switch::WallSwitches;

/// The numbers of every channel in one condition, after what trips at once has tripped.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// In the order of the channels; `NaN` where undetermined.
    pub(super) values: Vec<f64>,
    /// Breakers and protective devices that trip at once.
    pub(super) tripped: Vec<String>,
    /// Those that are off by themselves.
    pub(super) off: Vec<String>,
}

impl Row {
    pub(super) fn value(&self, channel: usize) -> f64 {
        self.values.get(channel).copied().unwrap_or(f64::NAN)
    }
}

type Made<'c> = (Arc<()>, Quick<'c>);

/// Answers conditions of one circuit.
#[derive(Clone)]
pub(super) struct Predictor<'c> {
    circuit: &'c Circuit,
    settling: Arc<Settling<'c>>,
    pub(super) looks: Arc<Looks>,
    pub(super) wall_switches: Arc<WallSwitches>,
    /// One for each way that switches, breakers and plugs stand, as they come to be asked, with
    /// the looks it was made for.
    quick: Arc<Mutex<Vec<Made<'c>>>>,
    /// Which looks those are, and earlier ones that these begin with.
    made_for: Vec<Arc<()>>,
}

impl<'c> Predictor<'c> {
    pub(super) fn new(circuit: &'c Circuit, looks: Looks) -> Self {
        let settling = Arc::new(Settling::new(circuit));
        Self {
            circuit,
            settling,
            looks: Arc::new(looks),
            wall_switches: Arc::new(WallSwitches::of(circuit)),
            quick: Arc::default(),
            made_for: vec![Arc::default()],
        }
    }

    /// The looks, to be changed.
    pub(super) fn looks_mut(&mut self) -> &mut Looks {
        Arc::make_mut(&mut self.looks)
    }

    /// Forgets what was prepared for other looks.
    pub(super) fn prepare_anew(&mut self) {
        self.quick = Arc::default();
        self.made_for = vec![Arc::default()];
    }

    /// More is looked at from now on, where what was prepared before is not asked for it.
    pub(super) fn look_further(&mut self) {
        self.made_for.push(Arc::default());
    }

    /// Every number with some possibilities on top of a setting; `None` where they cannot be so
    /// at once or the network has no answer.
    pub(super) fn row(
        &self,
        possibles: &[Possible],
        set: &[usize],
        setting: &Condition,
    ) -> Option<Row> {
        let mut row = self.quick_row(possibles, set, setting).or_else(|| {
            let these: Vec<&Possible> = set.iter().filter_map(|&at| possibles.get(at)).collect();
            let condition = self.wall_switches.condition(&these, setting);
            let laid_out = self.with_quick(possibles, setting, |quick| {
                quick.laid_out(self.circuit, &self.settling, condition.clone())
            });
            laid_out.or_else(|| self.whole_row(condition))
        })?;
        let opened = set.iter().filter_map(|&at| possibles.get(at)).flat_map(|one| {
            one.change.breakers.iter().filter(|(_, closed)| !**closed).map(|(name, _)| name.clone())
        });
        row.off = opened.filter(|name| setting.breakers.get(name) != Some(&true)).collect();
        Some(row)
    }

    /// The same from the whole network, whatever is in it.
    pub(super) fn whole_row(&self, condition: Condition) -> Option<Row> {
        let (netlist, _, tripped) = self.settling.settle(condition).ok()?;
        let readings = measure_netlist(&netlist, &self.looks.requests).ok()?;
        Some(Row { values: self.looks.values(&readings), tripped, off: Vec::new() })
    }

    /// `None` where it takes the whole network to know.
    fn quick_row(&self, possibles: &[Possible], set: &[usize], setting: &Condition) -> Option<Row> {
        self.with_quick(possibles, setting, |quick| {
            quick.row((self.circuit, &self.wall_switches), possibles, set, setting)
        })
    }

    /// With what is prepared for how switches, breakers and plugs stand.
    fn with_quick(
        &self,
        possibles: &[Possible],
        setting: &Condition,
        ask: impl FnOnce(&mut Quick<'c>) -> Option<Row>,
    ) -> Option<Row> {
        let mut all = self.quick.lock().unwrap_or_else(PoisonError::into_inner);
        let base = base((self.circuit, &self.wall_switches), setting);
        let is_ours = |looks: &Arc<()>| self.made_for.iter().any(|ours| Arc::ptr_eq(ours, looks));
        let at = match all.iter().position(|(looks, known)| known.base == base && is_ours(looks)) {
            Some(at) => at,
            None => {
                let looks = self.made_for.last().cloned().unwrap_or_default();
                let on = (self.circuit, &*self.wall_switches);
                all.push((looks, Quick::new(on, base, possibles, &self.looks)));
                all.len() - 1
            }
        };
        ask(&mut all.get_mut(at)?.1)
    }

    /// The network of a condition after what trips at once has tripped.
    pub(super) fn settled(&self, condition: Condition) -> Option<(Netlist, Condition, Solution)> {
        let (netlist, condition, _) = self.settling.settle(condition).ok()?;
        let solution = crate::solution::solve(&netlist).ok()?;
        Some((netlist, condition, solution))
    }
}

#[cfg(test)]
mod tests {
    use super::super::look::{Looks, Measure};
    use super::super::model::{ALL_OFF, ALL_ON, DESCRIBED, Model, Set};
    use super::super::{Means, ReadingError};
    use super::Row;
    use crate::circuit::file;
    use crate::instrument::{Place, Request, Through, presets};

    /// Numbers agree to this share, or to a millivolt.
    const AGREES: f64 = 1e-5;
    const LEAST: f64 = 1e-3;

    fn compare(text: &str, step: usize, (least, least_tripping): (usize, usize)) {
        let circuit = file::read(text).unwrap().circuit;
        let means = Means::default();
        let instruments = means.tools.iter().map(|tool| tool.instrument.clone()).collect();
        let fixed = Default::default();
        let model =
            Model::new(&circuit, instruments, &fixed, (&means.priors, ReadingError::default()));
        let mut sets: Vec<Vec<usize>> =
            (0..model.possibles.len()).step_by(step).map(|at| vec![at]).collect();
        // What leaks once a load is on, with what is forgotten or idles.
        let of_loads = |at: &usize| {
            let one = &model.possibles[*at];
            one.idle_load().is_some() || one.forgotten_load().is_some()
        };
        let leaks = (0..model.possibles.len()).filter(|at| model.possibles[*at].once_on.is_some());
        for leak in leaks {
            let loads = (0..model.possibles.len()).filter(of_loads);
            sets.extend(loads.map(|load| vec![leak, load]));
        }
        let (mut quickly, mut tripping) = (0, 0);
        for these in &sets {
            for setting in [DESCRIBED, ALL_OFF, ALL_ON] {
                let stands = &model.settings[setting];
                let quick = model.predictor.quick_row(&model.possibles, these, stands);
                let whole = model.predictor.whole_row(model.condition(Set::of(these), setting));
                let (Some(quick), Some(whole)) = (quick, whole) else { continue };
                quickly += 1;
                tripping += usize::from(!whole.tripped.is_empty());
                let what = model.possibles[these[0]].fault().map(|fault| fault.sentence(&circuit));
                assert_eq!(quick.tripped, whole.tripped, "{what:?}");
                for (channel, (a, b)) in quick.values.iter().zip(&whole.values).enumerate() {
                    let agree =
                        (a - b).abs() <= AGREES * b.abs() + LEAST || a.is_nan() && b.is_nan();
                    let measure = &model.predictor.looks.channels[channel].measure;
                    assert!(agree, "{what:?}: {measure:?} {a} {b}");
                }
            }
        }
        assert!(quickly > least && tripping > least_tripping, "{tripping} of {quickly} trip");
    }

    #[test]
    fn edits_of_one_network_show_what_the_whole_network_shows() {
        let text = "(format: 1, name: \"Kennels\", circuits: [(id: \"c1\", amperes: 15)],
            boxes: [(id: \"gate\", from: \"c1\", feet: 25), (id: \"run\", from: \"gate\", feet: 12)],
            loads: [(id: \"heater\", at: \"run\", kind: Resistive(watts: 900))])";
        compare(text, 1, (700, 20));
    }

    #[test]
    fn so_they_do_where_ground_fault_devices_trip() {
        let text = r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 20), (id: "c2", amperes: 15)],
            boxes: [
                (id: "porch", from: "c1", feet: 30, device: GroundFault(feeds: true)),
                (id: "bench", from: "porch", feet: 12),
                (id: "loft", from: "c2", feet: 18),
            ],
            loads: [
                (id: "heater", at: "bench", kind: Resistive(watts: 1200), metal_case: true),
                (id: "kettle", at: "loft", kind: Resistive(watts: 900)),
                (id: "iron", at: "bench", on: false, kind: Resistive(watts: 700)),
            ],
        )"#;
        compare(text, 2, (400, 20));
    }

    #[test]
    fn so_they_do_behind_a_ground_fault_breaker() {
        let text = r#"(
            format: 1,
            circuits: [
                (id: "wash", amperes: 20, ground_fault_milliamperes: 5),
                (id: "hall", amperes: 15, leg: "L2"),
            ],
            boxes: [(id: "tub", from: "wash", feet: 30), (id: "stair", from: "hall", feet: 12)],
            loads: [
                (id: "heater", at: "tub", kind: Resistive(watts: 1200), metal_case: true),
                (id: "kettle", at: "stair", kind: Resistive(watts: 900)),
            ],
        )"#;
        compare(text, 1, (400, 20));
    }

    #[test]
    fn so_they_do_with_lights_behind_switches_on_the_wall() {
        let text = r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 15)],
            boxes: [
                (id: "press", from: "c1", feet: 30),
                (id: "door", from: "press", feet: 12, device: Switch(closed: true)),
                (id: "loft", from: "door", feet: 18, carries: ["switched", "neutral", "ground"],
                 devices: []),
                (id: "foot", from: "press", feet: 9, device: ThreeWay(common: "hot")),
                (id: "head", from: "foot", feet: 14,
                 carries: ["traveller1", "traveller2", "neutral", "ground"],
                 device: ThreeWay(common: "switched", position: 2)),
                (id: "stair", from: "head", feet: 6, carries: ["switched", "neutral", "ground"],
                 devices: []),
            ],
            loads: [
                (id: "beam", at: "loft", wired: true, on: false, across: ("switched", "neutral"),
                 kind: Resistive(watts: 75)),
                (id: "globe", at: "stair", wired: true, across: ("switched", "neutral"),
                 kind: Resistive(watts: 60)),
                (id: "pump", at: "press", kind: Motor(watts: 300)),
            ],
        )"#;
        compare(text, 1, (1_000, 20));
    }

    /// What an ohmmeter's direct current meets is taken from alternating current: within this share.
    const OHMS_AGREE: f64 = 0.02;

    /// Both rows show the same from a channel on.
    fn agree(looks: &Looks, from: usize, (one, whole): (&Row, &Row), what: &Option<String>) {
        assert_eq!(one.tripped, whole.tripped, "{what:?}");
        for (channel, (a, b)) in one.values.iter().zip(&whole.values).enumerate().skip(from) {
            let measure = &looks.channels[channel].measure;
            let share = match measure {
                // Above any leak both are insulation.
                Measure::Ohm { .. } if a.min(*b) > 1e6 => continue,
                Measure::Ohm { .. } => OHMS_AGREE,
                _ => AGREES,
            };
            assert!((a - b).abs() <= share * b.abs() + LEAST, "{what:?}: {measure:?} {a} {b}");
        }
    }

    /// A clamp and an insulation tester, which are held to a cable and to a dead pair by request.
    #[test]
    fn what_is_held_by_request_is_predicted_without_the_whole_network_and_shows_the_same() {
        let text = r#"(
            format: 1,
            circuits: [
                (id: "wash", amperes: 20, ground_fault_milliamperes: 5),
                (id: "hall", amperes: 15, leg: "L2"),
            ],
            boxes: [
                (id: "tub", from: "wash", feet: 30), (id: "drain", from: "tub", feet: 14),
                (id: "stair", from: "hall", feet: 12),
            ],
            loads: [
                (id: "heater", at: "drain", kind: Resistive(watts: 1200), metal_case: true),
                (id: "kettle", at: "stair", kind: Resistive(watts: 900)),
            ],
        )"#;
        let circuit = file::read(text).unwrap().circuit;
        let means = Means::default();
        let instruments = means.tools.iter().map(|tool| tool.instrument.clone()).collect();
        let judgement = (&means.priors, ReadingError::default());
        let mut model = Model::new(&circuit, instruments, &Default::default(), judgement);
        let n_before = model.predictor.looks.channels.len();
        let around = |conductor: &str| Through {
            element: format!("wire:tub-drain.{conductor}"),
            sign: if conductor == "hot" { 1.0 } else { -1.0 },
        };
        let jaws = [vec![around("hot")], vec![around("hot"), around("neutral")]];
        let jaws = jaws
            .map(|conductors| Request::new(presets::clamp_meter(), Place::Around { conductors }));
        let dead = Place::between("tub.hot", "tub.ground");
        let dead = Request::new(presets::insulation_tester_500v(), dead);
        model.look_further(&presets::clamp_meter(), jaws.to_vec(), |_| true);
        model.look_further(&presets::insulation_tester_500v(), vec![dead], |_| true);
        let (mut quickly, mut laid_out, mut in_pieces) = (0, 0, 0);
        for at in 0..model.possibles.len() {
            for setting in [DESCRIBED, ALL_OFF] {
                let stands = &model.settings[setting];
                let condition = model.condition(Set::of(&[at]), setting);
                let predictor = &model.predictor;
                let quick = predictor.quick_row(&model.possibles, &[at], stands);
                let by_itself = predictor.with_quick(&model.possibles, stands, |quick| {
                    quick.laid_out(&circuit, &predictor.settling, condition.clone())
                });
                let Some(whole) = predictor.whole_row(condition) else { continue };
                quickly += usize::from(quick.is_some());
                laid_out += usize::from(by_itself.is_some());
                let what = model.possibles[at].fault().map(|fault| fault.sentence(&circuit));
                let is_parted =
                    what.as_ref().is_some_and(|what| what.contains("in cable tub-drain"));
                in_pieces += usize::from(is_parted);
                for row in [quick, by_itself].into_iter().flatten() {
                    agree(&predictor.looks, n_before, (&row, &whole), &what);
                }
            }
        }
        assert!(
            quickly > 300 && laid_out > 300 && in_pieces > 4,
            "{quickly} {laid_out} {in_pieces}"
        );
    }
}
