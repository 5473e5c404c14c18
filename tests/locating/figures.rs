//! Figures that nothing can show or cost.

use slotwise::circuit::file;
use slotwise::diagnosis::{
    Amount, Costs, Inquiry, Means, Moment, Observation, Seen, Showed, ToldProblem,
};
use slotwise::instrument::{Place, Request, presets};

const RUN: &str = r#"(format: 1, circuits: [(id: "c1", amperes: 15)],
    boxes: [(id: "door", from: "c1", feet: 20), (id: "bench", from: "door", feet: 9)])"#;

#[test]
fn a_figure_that_no_instrument_shows_is_not_taken() {
    let circuit = file::read(RUN).unwrap().circuit;
    let mut inquiry = Inquiry::new(&circuit, Means::default());
    let place = Place::Between { from: "bench.hot".into(), to: "bench.neutral".into() };
    let request = Request::new(presets::named("voltmeter").unwrap(), place);
    for figure in [
        Amount::Exactly(f64::NAN),
        Amount::About(-3.0),
        Amount::Under(f64::INFINITY),
        Amount::Between { low: 60.0, high: 40.0 },
    ] {
        let request = Box::new(request.clone());
        let seen = Seen::Instrument { request, showed: vec![Showed::Volt(figure)] };
        let told = inquiry.observe(&Observation { moment: Moment::default(), seen });
        assert!(matches!(told, Err(ToldProblem::Impossible { .. })), "{figure:?}: {told:?}");
    }
}

#[test]
fn means_that_are_no_figures_are_taken_for_the_usual_ones() {
    let circuit = file::read(RUN).unwrap().circuit;
    let costs = Costs { open_box_s: f64::NAN, meter_s: -5.0, ..Costs::default() };
    let advice = |means| Inquiry::new(&circuit, means).advise();
    let odd = advice(Means { costs, confidence: f64::NAN, ..Means::default() });
    assert_eq!(odd, advice(Means::default()));
    advice(Means { confidence: 7.0, ..Means::default() });
}
