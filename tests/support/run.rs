//! A run of receptacles.

use slotwise::circuit::{Circuit, file};

/// Boxes `b0`, `b1` and so on, on one cable, with loads by name, number of the box, and watts.
pub fn run(n_boxes: usize, loads: &[(&str, usize, u32)]) -> Circuit {
    let boxes: String = (0..n_boxes)
        .map(|n| {
            let from = if n == 0 { "c1".to_owned() } else { format!("b{}", n - 1) };
            format!(r#"(id: "b{n}", from: "{from}", feet: 12),"#)
        })
        .collect();
    let loads: String = loads
        .iter()
        .map(|(id, at, watts)| {
            format!(r#"(id: "{id}", at: "b{at}", kind: Resistive(watts: {watts})),"#)
        })
        .collect();
    let text = format!(
        r#"(
            format: 1,
            circuits: [(id: "c1", amperes: 20)],
            boxes: [{boxes}],
            loads: [{loads}],
        )"#
    );
    file::read(&text).unwrap().circuit
}
