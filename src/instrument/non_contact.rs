//! Non-contact detectors: held near a conductor, or over a cable.

use serde::{Deserialize, Serialize};

use super::band::{Band, Standing};
use super::bench::{Attached, Port};
use super::check::Check;
use super::phasor_form;
use crate::netlist::{Law, Netlist, NodeId};
use crate::quantity::{Address, Phasor};

/// A detector that touches nothing and alarms at a potential to earth.
///
/// ```
/// use slotwise::instrument::{presets, Instrument};
/// let Instrument::NonContact(detector) = presets::non_contact_detector() else { panic!() };
/// assert!(detector.threshold_volt.low < detector.threshold_volt.high);
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NonContact {
    /// What it is called.
    pub name: String,
    /// Potential to earth at which it alarms, volts rms: of the terminal it is held at, or over
    /// a cable of its own tip.
    pub threshold_volt: Band,
    /// Capacitance between its tip and earth through the person holding it, farads; used
    /// over a cable.
    #[serde(default = "tip_to_earth")]
    pub body_farad: f64,
}

/// Tip to earth through the hand: the tip's few picofarads in series with the body's hundred.
const fn tip_to_earth() -> f64 {
    3e-12
}

/// What a non-contact detector shows.
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
/// let request = Request::new(presets::non_contact_detector(), Place::near("hot"));
/// let readings = measure_netlist(&netlist, &[request]).unwrap();
/// let Shown::NonContact(shown) = &readings[0].shown else { panic!() };
/// assert_eq!(shown.state, "alarm");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NonContactReading {
    /// Potential to earth that decides, volts: of the conductor nearest, of the metal around it,
    /// or over a cable of the tip. `None` when undetermined.
    #[serde(serialize_with = "phasor_form::optional")]
    pub potential_volt: Option<Phasor>,
    /// `None` when undetermined or inside the threshold band.
    pub alarm: Option<bool>,
    /// `alarm`, `no alarm`, `may alarm` or `undetermined`.
    pub state: &'static str,
    /// The metal that hides the conductor from it, if any.
    pub masked_by: Option<Address>,
}

impl NonContact {
    /// Near one terminal, whose potential (or that of the metal around it) is given: nothing
    /// is attached.
    pub(super) fn near(
        &self,
        potential: Option<Phasor>,
        behind: Option<&Address>,
    ) -> NonContactReading {
        self.reading(potential, behind)
    }

    /// Over a cable: the tip is the star point of the coupling capacitances and the body's. A
    /// star of capacitances is the mesh C_i C_k / ΣC, so the tip itself need not be a node.
    pub(super) fn over_cable(&self, near: &[(NodeId, f64)]) -> Vec<Port> {
        let rays = self.rays(near);
        let total: f64 = rays.iter().map(|&(_, farad)| farad).sum();
        let mut ports: Vec<Port> = near
            .iter()
            .map(|&(from, _)| Port { from, to: Netlist::EARTH, law: Law::Open })
            .collect();
        for (place, &(from, one)) in rays.iter().enumerate() {
            for &(to, other) in rays.iter().skip(place + 1) {
                let capacitance_farad = one * other / total;
                if from != to && capacitance_farad > 0.0 {
                    ports.push(Port { from, to, law: Law::Capacitor { capacitance_farad } });
                }
            }
        }
        ports
    }

    /// V_tip = Σ C_i V_i / ΣC over the conductors and earth.
    pub(super) fn read_over_cable(
        &self,
        near: &[(NodeId, f64)],
        attached: &Attached,
        first: usize,
    ) -> NonContactReading {
        let total: f64 = self.rays(near).iter().map(|&(_, farad)| farad).sum();
        let tip = near.iter().enumerate().try_fold(Phasor::ZERO, |sum, (place, &(_, farad))| {
            let volt = attached.voltage(first + place)?;
            let share = farad / total;
            Some(sum + Phasor::new(volt.re * share, volt.im * share))
        });
        self.reading(tip, None)
    }

    fn rays(&self, near: &[(NodeId, f64)]) -> Vec<(NodeId, f64)> {
        let mut rays = near.to_vec();
        rays.push((Netlist::EARTH, self.body_farad));
        rays
    }

    fn reading(&self, potential: Option<Phasor>, behind: Option<&Address>) -> NonContactReading {
        let standing =
            potential.map(|potential| self.threshold_volt.standing(potential.magnitude()));
        let (alarm, state) = match standing {
            Some(Standing::Reached) => (Some(true), "alarm"),
            Some(Standing::Below) => (Some(false), "no alarm"),
            Some(Standing::Inside) => (None, "may alarm"),
            None => (None, "undetermined"),
        };
        NonContactReading { potential_volt: potential, alarm, state, masked_by: behind.cloned() }
    }

    pub(super) fn check(&self, check: &mut Check) {
        check.band("threshold_volt", self.threshold_volt);
        check.positive("body_farad", self.body_farad);
    }
}
