//! Which stable states there are: the one that is reached, and every other.

use super::device::Device;
use super::motion::{Motion, Point, Rest};

/// More than this many devices that may have two states are not enumerated.
const BISTABLE_MAX: usize = 10;
/// Two states whose sizes differ by less than this share are one.
const SAME_STATE: f64 = 1e-6;
/// Coupling below which v(x) cannot fold: |∂ ln h / ∂ ln x| <= 2 ρ / (1 - ρ)² < 1 for ρ < 0.2.
const COUPLING_SAFE: f64 = 0.2;

impl Motion {
    /// The state reached from `start`: lamps are lit one at a time, the one farthest above its
    /// strike voltage first, and those below their hold voltage put out, until all agree. A lamp
    /// that went out and strikes again flickers: no steady state has it, and it is taken as lit
    /// all the time.
    pub(super) fn reach(&self, start: Rest) -> Result<Rest, usize> {
        let mut went_out = vec![false; self.devices.len()];
        let (mut rest, mut point) = self.settle_stable(start)?;
        // Each lamp is lit, put out and lit again at most.
        for _ in 0..4 * self.devices.len() + 4 {
            if let Some(lamp) = self.next_strike(&rest, &point) {
                self.light(lamp, &mut rest, &point);
                rest.flickering[lamp] = went_out[lamp];
            } else {
                let out: Vec<usize> = self.going_out(&rest, &point).collect();
                if out.is_empty() {
                    return Ok(rest);
                }
                for lamp in out {
                    (rest.lit[lamp], rest.size[lamp]) = (false, self.devices[lamp].least);
                    went_out[lamp] = true;
                }
            }
            (rest, point) = self.settle_stable(rest)?;
        }
        Err(point.farthest)
    }

    fn next_strike(&self, rest: &Rest, point: &Point) -> Option<usize> {
        let dark = self.devices.iter().enumerate().filter(|&(j, _)| !rest.lit[j]);
        let above = dark.filter_map(|(j, lamp)| Some((j, lamp.strikes(point.voltage[j].norm())?)));
        above.max_by(|(_, a), (_, b)| a.total_cmp(b)).map(|(j, _)| j)
    }

    fn going_out<'a>(
        &'a self,
        rest: &'a Rest,
        point: &'a Point,
    ) -> impl Iterator<Item = usize> + 'a {
        let lit = self.devices.iter().enumerate().filter(|&(j, _)| rest.lit[j]);
        lit.filter(|&(j, lamp)| !rest.flickering[j] && lamp.goes_out(point.voltage[j].norm()))
            .map(|(j, _)| j)
    }

    /// Lights a lamp, with what it will about conduct where the others stay as they are.
    fn light(&self, lamp: usize, rest: &mut Rest, point: &Point) {
        rest.lit[lamp] = true;
        rest.size[lamp] = self.asked(lamp, rest, point);
    }

    /// Every other stable state, each device that may have two being started from both ends of
    /// its range in every combination, lamps lit or dark; `None` where these are too many.
    pub(super) fn others(&self, reached: &Rest) -> Option<Vec<Rest>> {
        let suspects = self.suspects(reached);
        if suspects.len() > BISTABLE_MAX {
            return None;
        }
        let mut found: Vec<Rest> = Vec::new();
        if suspects.is_empty() {
            return Some(found);
        }
        let untouched = self.at(&Rest::start(&self.devices))?;
        for combination in 0..1_u32 << suspects.len() {
            let mut start = Rest::start(&self.devices);
            for (bit, &j) in suspects.iter().enumerate() {
                if combination >> bit & 1 == 0 {
                    continue;
                }
                if self.devices[j].has_memory() {
                    self.light(j, &mut start, &untouched);
                } else {
                    start.size[j] = self.devices[j].far_start();
                }
            }
            let Some(rest) = self.state_from(start) else { continue };
            if ![reached].into_iter().chain(&found).any(|other| is_same(other, &rest)) {
                found.push(rest);
            }
        }
        Some(found)
    }

    /// The stable state that a start leads to; where nothing but lamps moves, only if it is one
    /// with just those lit: which are lit determines the rest, and others have a start of their
    /// own.
    fn state_from(&self, start: Rest) -> Option<Rest> {
        if !self.devices.iter().all(Device::is_lamp) {
            return self.reach(start).ok();
        }
        let (rest, point) = self.settle_stable(start).ok()?;
        let holds = self.next_strike(&rest, &point).is_none()
            && self.going_out(&rest, &point).next().is_none();
        holds.then_some(rest)
    }

    /// Devices that may have a second state. Not those whose port is so stiff that no choice of
    /// sizes changes their regime: with ρ = max over ports of Σ |Z| (range of x),
    /// |v - v_reached| <= |v|_max Σ |Z| (range of x) / (1 - ρ).
    fn suspects(&self, reached: &Rest) -> Vec<usize> {
        let Some(point) = self.at(reached) else { return Vec::new() };
        let range = |(device, &x): (&Device, &f64)| (device.most - x).max(x - device.least);
        let range: Vec<f64> = self.devices.iter().zip(&reached.size).map(range).collect();
        let coupling = |j: usize| -> f64 {
            let z = self.ports.impedance.row(j);
            z.iter().zip(&range).map(|(z, range)| z.norm() * range).sum()
        };
        let worst = (0..self.devices.len()).map(coupling).fold(0.0, f64::max);
        let voltage_max = point.voltage.iter().map(|v| v.norm()).fold(0.0, f64::max);
        let may_change = |j: usize, device: &Device| {
            let margin = coupling(j) / (1.0 - worst) * voltage_max;
            worst >= COUPLING_SAFE || !device.keeps_regime(point.voltage[j].norm(), margin)
        };
        let bistable = self.devices.iter().enumerate().filter(|(_, device)| device.is_bistable());
        bistable.filter(|&(j, device)| may_change(j, device)).map(|(j, _)| j).collect()
    }
}

fn is_same(a: &Rest, b: &Rest) -> bool {
    let close = |(x, y): (&f64, &f64)| (x - y).abs() <= SAME_STATE * x.max(*y);
    a.lit == b.lit && a.flickering == b.flickering && a.size.iter().zip(b.size.iter()).all(close)
}
