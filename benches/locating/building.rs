//! The circuit as its owner describes it: one run of boxes on one breaker, some wired through
//! their receptacles, a few known loads, and a cellar circuit on the other leg. This is all that
//! the diagnosis is told.

use slotwise::circuit::{Circuit, file};

use crate::random::Chance;

/// What a load does with its voltage.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Draws {
    /// A heater.
    Heat,
    /// A filament lamp.
    Filament,
    /// Electronics of constant power.
    Electronics,
}

/// A load as described.
#[derive(Clone, Debug)]
pub(crate) struct Load {
    /// Its name.
    pub(crate) id: String,
    /// The number of its receptacle.
    pub(crate) at: usize,
    /// What it is.
    pub(crate) draws: Draws,
    /// Rated watts at 120 V.
    pub(crate) watts: f64,
    /// On as described.
    pub(crate) on: bool,
}

/// A box as described.
#[derive(Clone, Debug)]
pub(crate) struct Receptacle {
    /// Cable from the box before, metres.
    pub(crate) metres: f64,
    /// Hot and neutral run through its terminals.
    pub(crate) fed_through: bool,
}

/// The circuit as described.
#[derive(Clone, Debug)]
pub(crate) struct Building {
    /// The boxes, from the panel outwards.
    pub(crate) boxes: Vec<Receptacle>,
    /// The loads.
    pub(crate) loads: Vec<Load>,
}

/// Metres of cable to the cellar.
pub(crate) const CELLAR_METRES: f64 = 14.0;

impl Building {
    /// An invented run of `n` boxes, loads at about a third of them.
    pub(crate) fn invent(n: usize, chance: &mut Chance) -> Self {
        let boxes = (0..n)
            .map(|at| Receptacle {
                metres: round(if at == 0 {
                    chance.between(6.0, 18.0)
                } else {
                    chance.between(3.0, 10.0)
                }),
                fed_through: chance.happens(0.4),
            })
            .collect();
        let mut loads = vec![
            load("cellar-freezer", n, Draws::Heat, 300.0),
            load("cellar-lamp", n, Draws::Filament, 60.0),
        ];
        let n_loads = n.div_ceil(3).max(2);
        let mut free: Vec<usize> = (0..n).collect();
        for number in 0..n_loads {
            let at = free.swap_remove(chance.below(free.len()));
            let (kind, name, watts) = match number % 3 {
                0 => (Draws::Filament, "lamp", 25.0 * chance.between(1.0, 5.0).round()),
                1 => (Draws::Heat, "heater", 100.0 * chance.between(4.0, 12.0).round()),
                _ => (Draws::Electronics, "radio", 10.0 * chance.between(1.0, 9.0).round()),
            };
            let on = kind != Draws::Heat || chance.happens(0.5);
            loads.push(Load { on, ..load(&format!("{name}-{number}"), at, kind, watts) });
        }
        Self { boxes, loads }
    }

    /// The name of a box.
    pub(crate) fn name(at: usize) -> String {
        format!("b{}", at + 1)
    }

    /// The number of the receptacle of a name: along the run, and after it the cellar.
    pub(crate) fn number(&self, name: &str) -> Option<usize> {
        if name == "cellar" {
            return Some(self.boxes.len());
        }
        name.strip_prefix('b')?.parse::<usize>().ok()?.checked_sub(1)
    }

    /// The name of the cable that arrives at a box.
    pub(crate) fn cable(at: usize) -> String {
        let before = if at == 0 { "c1".to_owned() } else { Self::name(at - 1) };
        format!("{before}-{}", Self::name(at))
    }

    /// The same circuit for the library.
    pub(crate) fn described(&self) -> Circuit {
        let mut boxes = String::new();
        for (at, receptacle) in self.boxes.iter().enumerate() {
            let from = if at == 0 { "c1".to_owned() } else { Self::name(at - 1) };
            let through = if receptacle.fed_through {
                r#", feed_through: ["hot", "neutral"], terminals: PushIn"#
            } else {
                ""
            };
            boxes += &format!(
                "(id: \"{}\", from: \"{from}\", metres: {}{through}),",
                Self::name(at),
                receptacle.metres
            );
        }
        boxes += &format!("(id: \"cellar\", from: \"c2\", metres: {CELLAR_METRES}),");
        let mut loads = String::new();
        for Load { id, at, draws, watts, on } in &self.loads {
            let cellar = *at == self.boxes.len();
            let at = if cellar { "cellar".to_owned() } else { Self::name(*at) };
            let kind = match draws {
                Draws::Heat => "Resistive",
                Draws::Filament => "Filament",
                Draws::Electronics => "Electronics",
            };
            loads +=
                &format!("(id: \"{id}\", at: \"{at}\", kind: {kind}(watts: {watts}), on: {on}),");
        }
        let text = format!(
            "(format: 1, name: \"Hidden run\",
              circuits: [(id: \"c1\", amperes: 20), (id: \"c2\", amperes: 20, leg: \"L2\")],
              boxes: [{boxes}], loads: [{loads}])"
        );
        match file::read(&text) {
            Ok(read) => read.circuit,
            Err(problems) => panic!("{problems:#?}"),
        }
    }
}

fn load(id: &str, at: usize, draws: Draws, watts: f64) -> Load {
    Load { id: id.to_owned(), at, draws, watts, on: true }
}

fn round(metres: f64) -> f64 {
    (metres * 10.0).round() / 10.0
}
