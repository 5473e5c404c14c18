//! Instruments of one's own in a file, and what is said about files that are wrong.

#![allow(clippy::unwrap_used)] // A test crate: nothing here is an interface.

use std::path::Path;

use slotwise::circuit::diagnostic::render_all;
use slotwise::instrument::{Band, Instrument, Place, Request, Shown, file, measure_netlist};
use slotwise::netlist::{Law, Netlist, Role};
use slotwise::quantity::{Address, Impedance, Phasor};

/// The first block of the page between ```ron and ```.
fn example_of_the_page() -> String {
    let page = include_str!("../docs/instruments.md");
    let (_, from) = page.split_once("```ron\n").unwrap();
    from.split_once("```").unwrap().0.to_owned()
}

#[test]
fn the_example_of_the_page_is_read_and_measures() {
    let instruments = file::read(&example_of_the_page()).unwrap();
    let [Instrument::Voltmeter(meter), Instrument::PlugTester(tester)] = &instruments[..] else {
        panic!("{instruments:?}")
    };
    assert_eq!((meter.name.as_str(), tester.name.as_str()), ("bench meter", "workshop tester"));
    assert_eq!(tester.indicators[0].indicator.dim_from, Band::between(20e-6, 50e-6));

    let mut netlist = Netlist::new(60.0);
    let hot = netlist.node(&Address::from("hot"));
    let supply =
        Law::Source { emf_volt: Phasor::new(120.0, 0.0), impedance: Impedance::resistance(0.1) };
    netlist.add("supply", hot, Netlist::EARTH, Role::Winding, supply).unwrap();
    let request = Request::new(instruments[0].clone(), Place::between("hot", "earth"));
    let readings = measure_netlist(&netlist, &[request]).unwrap();
    let Shown::Voltmeter(shown) = &readings[0].shown else { panic!() };
    assert_eq!(shown.display.as_ref().unwrap().text, "120.0 V");
}

#[test]
fn every_preset_can_be_written_into_a_file_and_read_back() {
    for name in slotwise::instrument::presets::names() {
        let preset = slotwise::instrument::presets::named(name).unwrap();
        assert_eq!(preset.bad_figures(), [], "{name}");
        let json = serde_json::to_string(&preset).unwrap();
        let again: Instrument = serde_json::from_str(&json).unwrap();
        assert_eq!(again, preset, "{name}");
    }
}

#[test]
fn every_broken_file_is_explained() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/broken_instruments");
    let mut files: Vec<_> =
        std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "ron"));
    files.sort();
    assert!(files.len() >= 20, "only {} broken files", files.len());
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path(&folder);
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    for path in files {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let text = std::fs::read_to_string(&path).unwrap();
        let said = file::read(&text).expect_err(&name);
        let rendered = render_all(&said, &format!("{name}.ron"), &text);
        settings.bind(|| insta::assert_snapshot!(name, rendered));
    }
}

#[test]
fn no_file_makes_the_reader_panic() {
    // Every beginning of a good file, and every good file with one letter gone.
    let good = example_of_the_page();
    for cut in (0..good.len()).step_by(7) {
        let _ = file::read(&good[..cut]);
        let _ = file::read(&format!("{}{}", &good[..cut], &good[cut + 1..]));
    }
}
