//! The tables of a [`ReadReport`](crate::report::ReadReport) below its receptacles.

use crate::report::figure::{amperes, ohms, small_amperes, watts};
use crate::report::read::{
    BreakerReading, CurrentReading, DeviceReading, JointReading, LoadReading, StateReading,
};
use crate::report::vocabulary::{Term, term};

use super::layout::{label, left, right, wrapped};
use super::read::{Page, capital, known, potential};

impl Page<'_> {
    pub(super) fn terminals(&mut self) {
        if self.report.terminals.is_empty() {
            return;
        }
        self.heading("Terminals                       volts to earth");
        for terminal in &self.report.terminals {
            let row = format!(
                "{}{}",
                label("  ", &terminal.address, 30),
                right(&potential(terminal), 14)
            );
            self.line(&row);
        }
    }

    pub(super) fn joints(&mut self) {
        if self.report.joints.is_empty() {
            return;
        }
        self.heading("Joints                         resistance     amperes  volts across   watts");
        for joint in &self.report.joints {
            self.joint(joint);
        }
    }

    fn joint(&mut self, joint: &JointReading) {
        let resistance = match (joint.open, joint.resistance_ohm) {
            (true, _) => "open".to_owned(),
            (false, Some(ohm)) => ohms(ohm),
            (false, None) => "varies".to_owned(),
        };
        let row = format!(
            "{}{}{}{}{}",
            label("  ", &joint.address, 26),
            right(&resistance, 13),
            right(&amperes(joint.current_ampere.rms), 12),
            right(&known(joint.voltage_volt.as_ref()), 14),
            right(&watts(joint.heat_watt), 8)
        );
        self.line(&row);
    }

    pub(super) fn loads(&mut self) {
        if self.report.loads.is_empty() {
            return;
        }
        self.heading("Loads             state          volts     amperes     watts   at");
        for load in &self.report.loads {
            self.load(load);
        }
    }

    fn load(&mut self, load: &LoadReading) {
        let volt = match load.state {
            "unplugged" => "-".to_owned(),
            _ => known(load.voltage_volt.as_ref()),
        };
        let mut row = format!(
            "{}{}{}{}{}",
            label("  ", &load.load, 16),
            left(load.state, 9),
            right(&volt, 11),
            right(&amperes(load.current_ampere.rms), 12),
            right(&watts(load.power_watt), 10)
        );
        if let Some(at) = &load.at {
            const ROOM: usize = 17;
            let apart = if at.chars().count() > ROOM { "\n      at " } else { "   " };
            row.push_str(&format!("{apart}{at}"));
        }
        self.line(&row);
    }

    pub(super) fn devices(&mut self) {
        if self.report.devices.is_empty() {
            return;
        }
        self.heading("Switches and protective devices        volts to earth");
        for device in &self.report.devices {
            self.device(device);
        }
    }

    fn device(&mut self, device: &DeviceReading) {
        let terminals: Vec<String> = device
            .terminals
            .iter()
            .map(|terminal| {
                let name = terminal.address.strip_prefix(&device.device).unwrap_or("");
                format!("{}: {}", name.trim_start_matches('.'), potential(terminal))
            })
            .collect();
        let first = format!("{}{}", label("  ", &device.device, 16), left(device.position, 13));
        self.text.push_str(&wrapped(&first, &terminals.join(", ")));
    }

    pub(super) fn breakers(&mut self) {
        if self.report.breakers.is_empty() {
            return;
        }
        let term = capital(term(self.report.vocabulary, Term::Breaker));
        self.heading(&format!("{}state      amperes   of    bus", left(&format!("{term}s"), 18)));
        for breaker in &self.report.breakers {
            self.breaker(breaker);
        }
    }

    fn breaker(&mut self, breaker: &BreakerReading) {
        let rating = breaker.rating_ampere.map_or_else(String::new, rated);
        let row = format!(
            "{}{}{}   {}{}",
            label("  ", &breaker.circuit, 16),
            left(if breaker.closed { "on" } else { "off" }, 6),
            right(&amperes(breaker.current_ampere.rms), 12),
            left(&rating, 6),
            breaker.bus
        );
        self.line(&row);
    }

    pub(super) fn currents(&mut self) {
        let Some(currents) = &self.report.currents else { return };
        self.heading("Currents                                        amperes  degrees     watts");
        for current in currents {
            self.current(current);
        }
    }

    fn current(&mut self, current: &CurrentReading) {
        let row = format!(
            "{}{}{}{}",
            label("  ", &current.element, 40),
            right(&small_amperes(current.current_ampere.rms), 13),
            right(&format!("{:.0}", current.current_ampere.degrees), 9),
            right(&watts(current.power_watt), 10)
        );
        self.line(&row);
    }

    pub(super) fn states(&mut self) {
        if self.report.stable_states.len() < 2 {
            return;
        }
        self.heading("More than one stable state");
        self.text.push_str(&wrapped(
            "  ",
            "The loads and indicators of this condition can settle in several ways; which one, \
             depends on how they were switched on. This report describes the one marked.",
        ));
        for state in &self.report.stable_states {
            self.state(state);
        }
    }

    fn state(&mut self, state: &StateReading) {
        let mark = if state.reached { "  * " } else { "    " };
        self.text.push_str(&wrapped(mark, &state.says.join("; ")));
    }
}

/// A breaker's rating as it is written on the handle, never wider than its column: to a hundredth
/// below 100 A, whole from there on.
fn rated(ampere: f64) -> String {
    match ampere {
        small if small < 99.995 => format!("{}", (small * 100.0).round() / 100.0),
        whole if whole < 99_999.5 => format!("{whole:.0}"),
        large => format!("{large:.0e}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rating_stays_in_its_column() {
        let written = [15.0, 0.5, 12.345_678, 5_798.090_798, 3.2e9].map(rated);
        assert_eq!(written, ["15", "0.5", "12.35", "5798", "3e9"]);
    }
}
