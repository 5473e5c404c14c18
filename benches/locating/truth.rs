//! Whether what the diagnosis names is what is really there.

use slotwise::condition::Fault;
use slotwise::condition::catalogue::{FaultKind, PossibleFault};
use slotwise::diagnosis::{Findings, Suspect};

use crate::building::Building;
use crate::hidden::{Hidden, JointAt, NEUTRAL, Part, Trouble, WIRES};
use crate::names;
use crate::shows::shows;

/// The truth that answers are held to.
pub(crate) struct Truth<'a> {
    /// As described.
    pub(crate) building: &'a Building,
    /// As it is.
    pub(crate) hidden: &'a Hidden,
}

impl Truth<'_> {
    /// Whether a suspect holds any true trouble.
    pub(crate) fn holds(&self, suspect: &Suspect) -> bool {
        self.hidden.troubles.iter().any(|trouble| self.holds_this(suspect, *trouble))
    }

    /// Whether most of what a suspect may be is a true trouble.
    pub(crate) fn is_mostly(&self, suspect: &Suspect) -> bool {
        let is_true = |fault: &PossibleFault| {
            self.hidden.troubles.iter().any(|trouble| self.is_this(fault, *trouble))
        };
        let share = suspect.faults.iter().filter(|one| is_true(&one.fault)).map(|one| one.share);
        share.sum::<f64>() >= 0.5
    }

    /// Whether the likeliest explanation names every true trouble and nothing else, each up to its
    /// group; and whether it does but for what shows in nothing that is looked at live.
    pub(crate) fn is_exactly(&self, findings: &Findings) -> (bool, bool) {
        let Some(best) = findings.explanations.first() else { return (false, false) };
        let named: Option<Vec<&Suspect>> =
            best.suspects.iter().map(|at| findings.suspects.get(*at)).collect();
        let Some(named) = named else { return (false, false) };
        if !named.iter().all(|suspect| self.holds(suspect)) {
            return (false, false);
        }
        let is_named =
            |trouble: Trouble| named.iter().any(|suspect| self.holds_this(suspect, trouble));
        let troubles = self.hidden.troubles.iter().copied();
        let unnamed: Vec<Trouble> = troubles.filter(|trouble| !is_named(*trouble)).collect();
        let all = unnamed.is_empty();
        (all, all || !named.is_empty() && !shows(self.building, self.hidden, &unnamed))
    }

    /// As it was laid, or as it is behind wires that are exchanged.
    fn holds_this(&self, suspect: &Suspect, trouble: Trouble) -> bool {
        let as_seen = self.as_seen(trouble);
        suspect.faults.iter().any(|member| {
            self.is_this(&member.fault, trouble) || self.is_this(&member.fault, as_seen)
        })
    }

    /// A bridge between slots whose wires are exchanged is one between the wires that are behind
    /// them: neutral and ground, where hot is on the neutral's side, is a short.
    fn as_seen(&self, trouble: Trouble) -> Trouble {
        let Trouble::Bridged { at, wires, ohm } = trouble else { return trouble };
        // From the slot back to the panel.
        let at_device = self.hidden.troubles.iter().filter_map(|trouble| match *trouble {
            Trouble::ExchangedAtDevice { at: here, wires } => (here == at).then_some(wires),
            _ => None,
        });
        let on_arrival = (0..=at).rev().flat_map(|box_at| {
            self.hidden.troubles.iter().filter_map(move |trouble| match *trouble {
                Trouble::ExchangedOnArrival { at, wires } => (at == box_at).then_some(wires),
                _ => None,
            })
        });
        let exchanges: Vec<(usize, usize)> = at_device.chain(on_arrival).collect();
        let other = |wire: usize| exchanges.iter().fold(wire, |wire, pair| exchanged(wire, *pair));
        let (one, two) = (other(wires.0), other(wires.1));
        Trouble::Bridged { at, wires: (one.min(two), one.max(two)), ohm }
    }

    /// Whether an entry of the catalogue is a trouble's place and kind of place: an open joint and
    /// a bad one are one place.
    fn is_this(&self, fault: &PossibleFault, trouble: Trouble) -> bool {
        let at_element = |element: &str| {
            fault.change.faults.iter().any(|edit| match edit {
                Fault::Open { element: known, .. }
                | Fault::Resistance { element: known, .. }
                | Fault::Glowing { element: known } => known == element,
                _ => false,
            })
        };
        let of_wires = |wires: (usize, usize)| {
            fault.conductors.len() == 2
                && [wires.0, wires.1]
                    .iter()
                    .all(|&wire| fault.conductors.iter().any(|known| known == WIRES[wire]))
        };
        let in_box = |at: usize| fault.places.contains(&Building::name(at));
        match trouble {
            Trouble::Open(joint, _) | Trouble::Bad(joint, _) | Trouble::Fickle(joint) => {
                at_element(&names::element(self.building, joint))
            }
            Trouble::Broken { at, wire, .. } => fault.change.faults.iter().any(|edit| {
                matches!(edit, Fault::Broken { cable, conductor, .. }
                    if *cable == Building::cable(at) && conductor == WIRES[wire])
            }),
            // At the device, or as its cable arrives in the same box: one place.
            Trouble::ExchangedAtDevice { at, wires } => {
                use FaultKind::{ExchangedAtCableEnd, ExchangedAtDevice};
                let is_exchange = matches!(fault.kind, ExchangedAtDevice | ExchangedAtCableEnd);
                is_exchange && in_box(at) && of_wires(wires)
            }
            Trouble::ExchangedOnArrival { at, wires } => {
                of_wires(wires)
                    && fault.change.faults.iter().any(|edit| {
                        matches!(edit, Fault::ExchangedAtCableEnd { end, .. }
                            if end.cable == Building::cable(at) && end.end.letter() == "b")
                    })
            }
            Trouble::Bridged { at, wires, .. } => {
                fault.kind == FaultKind::Bridged && in_box(at) && of_wires(wires)
            }
            Trouble::CaseLeak { load, .. } => {
                let name = &self.building.loads[load].id;
                fault.kind == FaultKind::InsulationDown
                    && fault.change.faults.iter().any(|edit| {
                        matches!(edit, Fault::Bridge { between, .. }
                            if between.0.as_str().starts_with(name.as_str())
                                || between.1.as_str().starts_with(name.as_str()))
                    })
            }
            Trouble::ServiceNeutral(_) => at_element("service:neutral"),
            Trouble::BreakerOff => fault.change.breakers.get("c1") == Some(&false),
            Trouble::NeutralOnOtherLeg => fault.change.faults.iter().any(|edit| {
                matches!(edit, Fault::WrongLanding { end, conductor, to }
                    if end.cable == Building::cable(0)
                        && conductor == WIRES[NEUTRAL]
                        && to.as_str() == "panel.L2")
            }),
            Trouble::Sag(_) => fault.kind == FaultKind::SupplyVoltage,
            // What it is taken for: its wire broken, or bad at an end of its cable.
            Trouble::Choke { at, wire, .. } => {
                let end = |part| Trouble::Fickle(JointAt { at, wire, part });
                let broken = Trouble::Broken { at, wire, share: 0.5 };
                let taken_for = [end(Part::Near), end(Part::Far), broken];
                taken_for.into_iter().any(|one| self.is_this(fault, one))
            }
            Trouble::Foreign { at, wire, .. } => {
                in_box(at) && fault.conductors.iter().any(|known| known == WIRES[wire])
            }
        }
    }
}

fn exchanged(wire: usize, (one, two): (usize, usize)) -> usize {
    match wire {
        _ if wire == one => two,
        _ if wire == two => one,
        _ => wire,
    }
}
