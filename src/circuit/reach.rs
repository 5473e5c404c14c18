//! What a breaker feeds: everything that hangs on its load side in the circuit as installed.

use std::collections::{BTreeMap, BTreeSet};

use super::{Circuit, Device, DeviceKind, Load, Part};

/// What hangs on the load side of breakers, loads not passed.
#[derive(Clone, Debug, Default)]
pub(crate) struct Reach {
    /// Terminals.
    pub(crate) terminals: BTreeSet<String>,
    /// Cables of which a conductor is among it.
    pub(crate) cables: BTreeSet<String>,
}

/// Whether a subpanel's breakers, which may be off themselves, belong to what a feeder's feeds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Subpanels {
    /// What is fed ends at their bus.
    NotPassed,
    /// It goes on behind their breakers.
    Passed,
}

impl Reach {
    /// What the breakers of these circuits feed; switches and protective devices are passed.
    pub(crate) fn of(circuit: &Circuit, breakers: &[&str], subpanels: Subpanels) -> Self {
        let front = breakers.iter().map(|id| format!("{id}.hot")).collect();
        let passes = |part: &Part<'_>| match part {
            Part::Breaker(pole) => {
                subpanels == Subpanels::Passed && !breakers.contains(&pole.id.as_str())
            }
            _ => true,
        };
        Self::from(circuit, front, passes)
    }

    /// What breakers and protective devices feed, each by its name, subpanels behind them too.
    pub(crate) fn behind_all<'n>(
        circuit: &Circuit,
        names: impl IntoIterator<Item = &'n str>,
    ) -> Self {
        let (breakers, devices): (Vec<&str>, Vec<&str>) =
            names.into_iter().partition(|name| circuit.branch_circuit(name).is_some());
        let mut all = match breakers.is_empty() {
            true => Self::default(),
            false => Self::of(circuit, &breakers, Subpanels::Passed),
        };
        for device in devices.into_iter().filter_map(|name| circuit.device(name)) {
            let Self { terminals, cables } = Self::behind(circuit, device);
            all.terminals.extend(terminals);
            all.cables.extend(cables);
        }
        all
    }

    /// What breakers feed through a switch alone.
    pub(crate) fn through(circuit: &Circuit, switch: &str) -> BTreeSet<String> {
        let poles = circuit.parts().branch_circuits.iter();
        let front: Vec<String> = poles.map(|pole| format!("{}.hot", pole.id)).collect();
        let is_passed = |part: &Part<'_>| !matches!(part, Part::Switch(of, _) if of.id == switch);
        let without = Self::from(circuit, front.clone(), is_passed).terminals;
        let with = Self::from(circuit, front, |_| true).terminals;
        with.difference(&without).cloned().collect()
    }

    /// What breakers feed as switches stand in the circuit as installed.
    pub(crate) fn as_described(circuit: &Circuit) -> BTreeSet<String> {
        let poles = circuit.parts().branch_circuits.iter();
        let front = poles.map(|pole| format!("{}.hot", pole.id)).collect();
        let is_passed = |part: &Part<'_>| match part {
            Part::Switch(of, contact) => {
                contact.closed || matches!(of.kind, DeviceKind::Protective { .. })
            }
            _ => true,
        };
        Self::from(circuit, front, is_passed).terminals
    }

    /// What the load side of a protective device feeds.
    pub(crate) fn behind(circuit: &Circuit, device: &Device) -> Self {
        let DeviceKind::Protective { poles, .. } = &device.kind else { return Self::default() };
        let hots = poles.iter().filter(|pole| *pole != "neutral");
        let front = hots.map(|pole| format!("{}.load.{pole}", device.id)).collect();
        let passes = |part: &Part<'_>| match part {
            Part::Switch(of, _) => of.id != device.id,
            Part::Breaker(_) => false,
            _ => true,
        };
        Self::from(circuit, front, passes)
    }

    fn from(circuit: &Circuit, front: Vec<String>, passes: impl Fn(&Part<'_>) -> bool) -> Self {
        Ways::of(circuit, passes).from(front)
    }
}

/// From each terminal the next, and the cable to it.
struct Ways(BTreeMap<String, Vec<(String, Option<String>)>>);

impl Ways {
    fn of(circuit: &Circuit, passes: impl Fn(&Part<'_>) -> bool) -> Self {
        let mut about: BTreeMap<String, Vec<(String, Option<String>)>> = BTreeMap::new();
        for path in circuit.connections().filter(|path| passes(&path.part)) {
            let (a, b) = (path.a.to_string(), path.b.to_string());
            let cable = match path.part {
                Part::Wire(cable, _) => Some(cable.id.clone()),
                Part::Contact(..) | Part::Tab(..) | Part::Switch(..) | Part::Link(_) => None,
                Part::Breaker(pole) => {
                    // From the bus on and never back to it.
                    about
                        .entry(pole.bus.to_string())
                        .or_default()
                        .push((format!("{}.hot", pole.id), None));
                    continue;
                }
                _ => continue,
            };
            about.entry(a.clone()).or_default().push((b.clone(), cable.clone()));
            about.entry(b).or_default().push((a, cable));
        }
        Self(about)
    }

    fn from(&self, mut front: Vec<String>) -> Reach {
        let mut reach = Reach { terminals: front.iter().cloned().collect(), ..Reach::default() };
        while let Some(terminal) = front.pop() {
            for (next, cable) in self.0.get(&terminal).into_iter().flatten() {
                reach.cables.extend(cable.clone());
                if reach.terminals.insert(next.clone()) {
                    front.push(next.clone());
                }
            }
        }
        reach
    }
}

/// The branch circuits of a circuit, the poles of one as one: what a circuit file lists.
pub(crate) struct Branches<'c> {
    /// By its name the poles of each.
    pub(crate) poles: Vec<(&'c str, Vec<&'c str>)>,
}

impl<'c> Branches<'c> {
    /// In the order of the description.
    pub(crate) fn of(circuit: &'c Circuit) -> Self {
        let ids = circuit.parts().branch_circuits.iter().map(|pole| pole.id.as_str());
        let mut poles: Vec<(&str, Vec<&str>)> = Vec::new();
        for id in ids {
            let first = Self::first_pole(id);
            match poles.iter_mut().find(|(known, _)| *known == first) {
                Some((_, poles)) => poles.push(id),
                None => poles.push((id, vec![id])),
            }
        }
        Self { poles }
    }

    /// What the circuit of a pole is called.
    pub(crate) fn first_pole(pole: &str) -> &str {
        pole.rsplit_once(".pole").map_or(pole, |(first, _)| first)
    }

    /// By terminal the circuits whose hots reach it in the circuit as installed, behind switches and
    /// protective devices too; those of a subpanel are its own.
    pub(crate) fn feeding(&self, circuit: &Circuit) -> BTreeMap<String, Vec<&'c str>> {
        let ways = Ways::of(circuit, |part| !matches!(part, Part::Breaker(_)));
        let mut feeding: BTreeMap<String, Vec<&str>> = BTreeMap::new();
        for (name, poles) in &self.poles {
            let front = poles.iter().map(|pole| format!("{pole}.hot")).collect();
            for terminal in ways.from(front).terminals {
                feeding.entry(terminal).or_default().push(name);
            }
        }
        feeding
    }

    /// By circuit the loads that it feeds.
    pub(crate) fn loads(&self, circuit: &'c Circuit) -> BTreeMap<&'c str, Vec<&'c Load>> {
        let feeding = self.feeding(circuit);
        let mut by_circuit: BTreeMap<&str, Vec<&Load>> = BTreeMap::new();
        for load in &circuit.parts().loads {
            let ends = [&load.between.0, &load.between.1];
            let circuits = ends.iter().filter_map(|end| feeding.get(end.as_str())).flatten();
            for name in circuits.copied().collect::<BTreeSet<_>>() {
                by_circuit.entry(name).or_default().push(load);
            }
        }
        by_circuit
    }

    /// Circuits from whose breaker no wire leads anywhere.
    pub(crate) fn feeding_nothing(&self, circuit: &Circuit) -> Vec<&'c str> {
        let ways = Ways::of(circuit, |part| !matches!(part, Part::Breaker(_)));
        let feeds = |pole: &&str| ways.from(vec![format!("{pole}.hot")]).terminals.len() > 1;
        let idle = self.poles.iter().filter(|(_, poles)| !poles.iter().any(&feeds));
        idle.map(|(name, _)| *name).collect()
    }
}
