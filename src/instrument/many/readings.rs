//! Instruments at many places in many conditions.

use super::{Held, ManyConditions, ManyWork};
use crate::circuit::Circuit;
use crate::condition::Condition;
use crate::instrument::measure::read_all;
use crate::instrument::{MeasureProblem, Reading, Request, Shown};
use crate::netlist::{Netlist, NodeId, wire};

/// What instruments at many places show, in any of very many conditions of one circuit: as
/// [`measure`](crate::instrument::measure) would say for each. It is the
/// quicker the more places and conditions there are: a few of each gain nothing.
///
/// Requests that touch the same terminals are held together; what needs more than pairs of
/// terminals (a jaw, a dead circuit, instruments attached together) is measured on the condition's
/// own network.
///
/// ```
/// use slotwise::condition::{Condition, catalogue::catalogue};
/// use slotwise::instrument::{ManyReadings, Place, Request, measure, presets};
/// let text = include_str!("../../../circuits/toll-house.ron");
/// let circuit = slotwise::circuit::file::read(text).unwrap().circuit;
/// let tester = |outlet: &slotwise::circuit::Outlet| {
///     Request::new(presets::plug_tester_resistive(), Place::receptacle(outlet.address.clone()))
/// };
/// let requests: Vec<Request> = circuit.outlets().map(|(_, outlet)| tester(outlet)).collect();
/// let faults: Vec<Condition> =
///     catalogue(&circuit).faults().iter().map(|fault| fault.change.clone()).collect();
/// let many = ManyReadings::new(&circuit, &Condition::default(), &faults, &requests)?;
/// let mut work = many.work();
/// for fault in 0..20 {
///     let readings = many.readings(&[fault], &mut work)?;
///     assert_eq!(readings, measure(&circuit, &many.conditions().condition(&[fault]), &requests)?);
/// }
/// # Ok::<(), slotwise::instrument::MeasureProblem>(())
/// ```
pub struct ManyReadings<'c, 'r> {
    circuit: &'c Circuit,
    many: ManyConditions<'c>,
    requests: &'r [Request],
    /// Requests held to the same terminals, with their places among all; each has two groups of
    /// ports, in this order.
    held: Vec<(Held<'r>, Vec<usize>)>,
    /// Places of the others among all.
    apart: Vec<usize>,
}

impl<'c, 'r> ManyReadings<'c, 'r> {
    /// Finds every place once, and prepares the network for any of the changes.
    ///
    /// # Errors
    ///
    /// As [`ManyConditions::new`], and as [`measure`](crate::instrument::measure) for a request that
    /// is wrong.
    pub fn new(
        circuit: &'c Circuit,
        base: &Condition,
        changes: &[Condition],
        requests: &'r [Request],
    ) -> Result<Self, MeasureProblem> {
        let netlist = wire(circuit, base)?;
        let (shared, apart) = shared_terminals(&netlist, circuit, requests)?;
        let mut held = Vec::with_capacity(shared.len());
        for places in shared {
            let together = places.iter().map(|&place| &requests[place]);
            // Each of them can be held: so can all.
            if let Some(all) = Held::also_to_earth(&netlist, Some(circuit), together)? {
                held.push((all, places));
            }
        }
        let groups: Vec<_> = held.iter().flat_map(|(held, _)| held.groups(&netlist)).collect();
        let to_earth: Vec<_> = held.iter().flat_map(|(held, _)| held.to_earth()).collect();
        let many = ManyConditions::prepared(circuit, base, changes, &groups, (&[], &to_earth))?;
        Ok(Self { circuit, many, requests, held, apart })
    }

    /// The conditions it was made for.
    pub fn conditions(&self) -> &ManyConditions<'c> {
        &self.many
    }

    /// Room to work in, one a thread.
    pub fn work(&self) -> ManyWork {
        self.many.work()
    }

    /// What every request shows with some of the changes made, in the order asked.
    ///
    /// # Errors
    ///
    /// They cannot be so at once, or the network has no answer.
    pub fn readings(
        &self,
        made: &[usize],
        work: &mut ManyWork,
    ) -> Result<Vec<Reading>, MeasureProblem> {
        self.many.put(made, work)?;
        let mut shown: Vec<Option<Shown>> = vec![None; self.requests.len()];
        let mut apart = self.apart.clone();
        let mut floats = false;
        for (number, (held, places)) in self.held.iter().enumerate() {
            let seen = if floats { None } else { held.show(&self.many, 2 * number, work) };
            match seen {
                Some(seen) => {
                    for (&place, seen) in places.iter().zip(seen?) {
                        shown[place] = Some(seen);
                    }
                }
                // A slot that nothing joins to the rest any more: what is left is soonest measured
                // on the condition's own network.
                None => {
                    floats = true;
                    apart.extend_from_slice(places);
                }
            }
        }
        if !apart.is_empty() {
            let netlist = wire(self.circuit, &self.many.condition(made))?;
            let requests: Vec<Request> =
                apart.iter().map(|&place| self.requests[place].clone()).collect();
            let readings = read_all(&netlist, Some(self.circuit), &requests)?;
            for (place, reading) in apart.into_iter().zip(readings) {
                shown[place] = Some(reading.shown);
            }
        }
        let reading = |(request, shown): (&Request, Option<Shown>)| {
            Some(Reading {
                instrument: request.instrument.name().to_owned(),
                place: request.place.clone(),
                shown: shown?,
            })
        };
        Ok(self.requests.iter().zip(shown).filter_map(reading).collect())
    }
}

/// Requests by the terminals they touch, those that touch fewer with those that touch more; and
/// the requests that look at more than pairs of terminals.
fn shared_terminals(
    netlist: &Netlist,
    circuit: &Circuit,
    requests: &[Request],
) -> Result<(Vec<Vec<usize>>, Vec<usize>), MeasureProblem> {
    let mut by_terminals: Vec<(Vec<NodeId>, Vec<usize>)> = Vec::new();
    let mut apart = Vec::new();
    for (place, request) in requests.iter().enumerate() {
        let Some(held) = Held::also_to_earth(netlist, Some(circuit), [request])? else {
            apart.push(place);
            continue;
        };
        let touched = held.touched();
        match by_terminals.iter_mut().find(|(known, _)| *known == touched) {
            Some((_, places)) => places.push(place),
            None => by_terminals.push((touched, vec![place])),
        }
    }
    by_terminals.sort_by_key(|(touched, _)| std::cmp::Reverse(touched.len()));
    let mut shared: Vec<(Vec<NodeId>, Vec<usize>)> = Vec::new();
    for (touched, places) in by_terminals {
        let within = |(more, _): &&mut (Vec<NodeId>, Vec<usize>)| {
            !touched.is_empty() && touched.iter().all(|node| more.contains(node))
        };
        match shared.iter_mut().find(within) {
            Some((_, with)) => with.extend(places),
            None => shared.push((touched, places)),
        }
    }
    Ok((shared.into_iter().map(|(_, places)| places).collect(), apart))
}
