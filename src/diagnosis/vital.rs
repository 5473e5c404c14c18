//! By which channels a place counts as dead, and a receptacle as dangerous.

use super::look::{Looks, Measure, outlets_at, same};
use super::symptom::place_of_load;
use crate::circuit::{Circuit, Load};

/// The channels by which a receptacle counts as dangerous to plug anything into.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Metal {
    pub(super) ground_potential: Option<usize>,
    pub(super) neutral_potential: Option<usize>,
    pub(super) neutral_ground: Option<usize>,
    pub(super) hot_neutral: Option<usize>,
}

/// The channels by which a place counts as dead.
#[derive(Clone, Debug, Default)]
pub(super) struct Life {
    /// Between hot and return of each receptacle.
    pub(super) volts: Vec<usize>,
    /// Of what is wired in, where there is no receptacle.
    pub(super) shares: Vec<usize>,
}

impl Looks {
    pub(super) fn metal_of(&self, outlet: usize) -> Metal {
        let potential = |wanted: &str| {
            self.find(outlet, |m| matches!(m, Measure::Potential { slot } if slot == wanted))
        };
        let volt = |p: &str, q: &str| {
            let pair = (p.to_owned(), q.to_owned());
            self.find(outlet, |m| matches!(m, Measure::Volt { between } if same(between, &pair)))
        };
        Metal {
            ground_potential: potential("ground"),
            neutral_potential: potential("neutral"),
            neutral_ground: volt("neutral", "ground"),
            hot_neutral: volt("hot", "neutral"),
        }
    }

    pub(super) fn life_of(&self, circuit: &Circuit, place: &str) -> Life {
        let across = |outlet: usize, p: &str, q: &str| {
            self.find(outlet, |measure| {
                matches!(measure, Measure::Volt { between } if between.0 == p && between.1 == q)
            })
        };
        let outlets = outlets_at(circuit, place);
        let volts: Vec<usize> = outlets
            .iter()
            .filter_map(|&at| {
                across(at, "hot", "neutral")
                    .or_else(|| across(at, "hot2", "neutral"))
                    .or_else(|| across(at, "hot", "hot2"))
            })
            .collect();
        let is_here = |load: &&Load| place_of_load(circuit, load).is_some_and(|at| at == place);
        let wired = circuit.parts().loads.iter().filter(is_here);
        let shares = match volts.is_empty() {
            true => wired.filter_map(|load| self.share_of(&load.id)).collect(),
            false => Vec::new(),
        };
        Life { volts, shares }
    }
}
