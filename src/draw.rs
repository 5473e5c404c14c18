//! Pictures: the run as boxes and conductors with the potential of each, the potentials along
//! the run as a diagram, and a report page that prints. SVG and HTML that need no network, no
//! script and no font of their own.
//!
//! A picture is legible in black and white: level is shown by pattern and weight, faults by
//! shape and number. What it says in words comes from [`report`](crate::report); nothing is
//! decided here.

use crate::circuit::{Circuit, UnknownName};
use crate::condition::Condition;
use crate::netlist::{Netlist, wire};
use crate::report::{Asked, ReadReport, ReportError};
use crate::solution::{Solution, solve};

mod arrange;
mod axis;
mod block;
mod cable;
mod content;
mod floor;
mod glyph;
mod legend;
mod mark;
mod page;
mod pen;
mod profile;
mod reading;
mod route;
mod run;
mod sheet;
mod source;
mod survey;
mod words;

use sheet::Sheet;

pub use page::{key_page, sheet_page};
pub use sheet::TextBox;

/// A circuit in one condition, solved: what pictures and pages are made from.
///
/// ```
/// use slotwise::circuit::file;
/// use slotwise::condition::Condition;
/// use slotwise::draw::Scene;
/// let text = include_str!("../circuits/pottery-studio.ron");
/// let circuit = file::read(text).unwrap().circuit;
/// let mut condition = Condition::default();
/// condition.say(&circuit, "neutral open at kiln, line side").unwrap();
/// let scene = Scene::new(&circuit, &condition)?;
/// let svg = scene.run().svg();
/// assert!(svg.starts_with("<svg") && svg.contains("neutral open at kiln, line side"));
/// # Ok::<(), slotwise::report::ReportError>(())
/// ```
#[derive(Debug)]
pub struct Scene<'c> {
    circuit: &'c Circuit,
    /// What was asked about.
    asked: &'c Condition,
    /// What is shown: the same, or what remains of it after trips.
    condition: Condition,
    netlist: Netlist,
    solution: Solution,
    report: ReadReport,
}

impl<'c> Scene<'c> {
    /// Solves a circuit in a condition; what trips has tripped.
    ///
    /// # Errors
    ///
    /// The condition does not fit the circuit, or the network has no answer to be trusted.
    pub fn new(circuit: &'c Circuit, condition: &'c Condition) -> Result<Self, ReportError> {
        Self::asking(circuit, condition, &Asked::default())
    }

    /// The same with a say in what its report holds.
    ///
    /// # Errors
    ///
    /// As [`new`](Self::new), and where an address asked for is not in the circuit.
    pub fn asking(
        circuit: &'c Circuit,
        asked: &'c Condition,
        wanted: &Asked,
    ) -> Result<Self, ReportError> {
        let report = ReadReport::new(circuit, asked, wanted)?;
        let condition = report.protection.shown(asked);
        let netlist = wire(circuit, &condition)?;
        let solution = solve(&netlist)?;
        Ok(Self { circuit, asked, condition, netlist, solution, report })
    }

    /// The report of the same condition.
    pub fn report(&self) -> &ReadReport {
        &self.report
    }

    /// The run: boxes, cables, conductors, devices and loads, dangers first in the words above.
    pub fn run(&self) -> Picture {
        source::with_source(self, |source, words| words.around(run::body(source, words)))
    }

    /// Everything on one page in HTML: hazards, faults, pictures and tables. It needs no network,
    /// runs no script, and prints on letter and A4.
    pub fn page(&self) -> String {
        source::with_source(self, |source, words| page::page(&self.report, source, words))
    }

    /// The potentials along the way from the panel to a box, volts against distance: a bad joint
    /// is a step, length a slope. Without a box it leads to the farthest one past most faults.
    ///
    /// # Errors
    ///
    /// There is no such box on any run.
    pub fn profile(&self, to: Option<&str>) -> Result<Picture, UnknownName> {
        source::with_source(self, |source, words| {
            Ok(words.around(profile::body(source, words, to)?))
        })
    }
}

/// A finished picture.
///
/// ```
/// use slotwise::circuit::file;
/// use slotwise::condition::Condition;
/// use slotwise::draw::Scene;
/// let text = include_str!("../circuits/pottery-studio.ron");
/// let circuit = file::read(text).unwrap().circuit;
/// let picture = Scene::new(&circuit, &Condition::default())?.run();
/// let (width, height) = picture.size();
/// assert!(picture.texts().iter().all(|text| text.right <= width && text.bottom <= height));
/// # Ok::<(), slotwise::report::ReportError>(())
/// ```
#[derive(Clone, Debug)]
pub struct Picture {
    sheet: Sheet,
    breaks: Vec<f64>,
}

impl Picture {
    /// The picture as an SVG document.
    pub fn svg(&self) -> String {
        self.sheet.svg()
    }

    /// Width and height in CSS pixels.
    pub fn size(&self) -> (f64, f64) {
        (self.sheet.width, self.sheet.height)
    }

    /// The heights, from the top, at which it may be cut to go on another page: between rows of
    /// boxes; top and bottom included.
    pub fn breaks(&self) -> &[f64] {
        &self.breaks
    }

    /// Every text with the part of the paper that is kept free for it.
    pub fn texts(&self) -> Vec<TextBox> {
        self.sheet.texts()
    }
}
