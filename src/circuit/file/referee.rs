//! A file that is accepted here is Rusty Object Notation: the `ron` crate reads the same form
//! out of it, given the same two extensions.

use ron::extensions::Extensions;

use super::form::FileForm;
use super::parser;
use super::shape;
use super::sink::Sink;

const SAMPLE: &str = r##"#![enable(implicit_some)]
/* One of /* every */ kind of value. */
Circuit(
    format: 1, name: r#"A "quoted" name"#, words: Iec,
    supply: (hertz: 6_0, volts: 1.2e2, volts_between: (+114.0, 126), bond_ohms: .5),
    defaults: Some((cable: (awg: 12, capacitance: Stated([(between: ("hot", "ground"),
        picofarads_per_metre: 70)])), contacts: ())),
    circuits: [(id: "c\u{31}", on: true, leg: None), (id: "c\x32", cable: (awg: "1/0"))],
    boxes: [(id: "b", from: "c1", feet: 3, device: ThreeWay(common: "hot", position: 2),),],
    loads: [(id: "l", at: "b", wired: true, across: ("a", "b"), kind: Standby()),]
)"##;

#[track_caller]
fn agrees(text: &str) {
    let mut sink = Sink::default();
    let root = parser::parse(text, &mut sink).unwrap();
    let ours: FileForm = shape::read(&root, &mut sink).unwrap();
    assert_eq!(sink.into_diagnostics(), []);
    let theirs: FileForm = ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME)
        .with_default_extension(Extensions::UNWRAP_NEWTYPES)
        .from_str(text)
        .unwrap();
    assert_eq!(ours, theirs);
}

#[test]
fn every_kind_of_value_is_read_as_the_ron_crate_reads_it() {
    agrees(SAMPLE);
}

/// Circuits of `circuits/`, that between them use most of the form.
const CIRCUITS: &[&str] = &[
    include_str!("../../../circuits/apiary.ron"),
    include_str!("../../../circuits/bakery.ron"),
    include_str!("../../../circuits/boathouse.ron"),
    include_str!("../../../circuits/cider-press.ron"),
    include_str!("../../../circuits/dairy.ron"),
    include_str!("../../../circuits/ice-house.ron"),
    include_str!("../../../circuits/lighthouse.ron"),
    include_str!("../../../circuits/mountain-inn.ron"),
    include_str!("../../../circuits/night-market.ron"),
    include_str!("../../../circuits/observatory.ron"),
    include_str!("../../../circuits/orangery.ron"),
    include_str!("../../../circuits/pottery-studio.ron"),
    include_str!("../../../circuits/print-shop.ron"),
    include_str!("../../../circuits/signal-box.ron"),
    include_str!("../../../circuits/tannery.ron"),
    include_str!("../../../circuits/toll-house.ron"),
    include_str!("../../../circuits/village-hall.ron"),
    include_str!("../../../circuits/weaving-shed.ron"),
];

#[test]
fn circuits_are_read_as_the_ron_crate_reads_them() {
    CIRCUITS.iter().for_each(|text| agrees(text));
}
