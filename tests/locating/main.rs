//! Locating faults, as a person does it: told a complaint, tested, opened.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod appliances;
mod begun;
mod call;
mod dangers_first;
mod faint;
mod felt;
mod field;
mod figures;
mod finds;
mod heard;
mod inspected;
mod intermittent;
mod laws;
mod mended;
mod other_circuits;
mod over;
mod panel_metal;
mod parts;
mod several;
mod switched;
mod tried_first;
mod walks;
mod wall_switch;
mod weak;
mod worked_on;
mod works;
mod worn_out;
