//! The way of each cable that does not run straight to the next box: along the gaps between
//! columns and the gutters between rows, each on a track of its own.

use super::arrange::{Arrangement, Cell, Flank};
use super::content::end_number;
use super::survey::Survey;

/// Between tracks.
pub(super) const TRACK_PITCH: f64 = 14.0;

/// A vertical stretch: the gap left of a column, and the track in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Riser {
    pub(super) gap: usize,
    pub(super) track: usize,
}

/// A horizontal stretch: the gutter above a row, and the track in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Reach {
    pub(super) gutter: usize,
    pub(super) track: usize,
}

/// The way of a cable from its end a to its end b.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Route {
    /// Along one gap.
    Direct(Riser),
    /// Along one gap, through a gutter, along another gap.
    Round(Riser, Reach, Riser),
}

/// Every route, and how many tracks each gap and gutter has.
#[derive(Debug)]
pub(super) struct Routes {
    pub(super) by_run: Vec<Option<Route>>,
    pub(super) gap_tracks: Vec<usize>,
    pub(super) gutter_tracks: Vec<usize>,
}

impl Routes {
    pub(super) fn of(survey: &Survey<'_>, arrangement: &Arrangement) -> Self {
        let mut gaps = vec![Tracks::default(); arrangement.columns + 1];
        let mut gutters = vec![Tracks::default(); arrangement.rows + 1];
        let by_run = (0..survey.runs.len())
            .map(|run| {
                if arrangement.is_straight(survey, run) {
                    return None;
                }
                let [from, to] = ends(survey, arrangement, run)?;
                Some(route(from, to, &mut gaps, &mut gutters))
            })
            .collect();
        Self {
            by_run,
            gap_tracks: gaps.iter().map(|gap| gap.tracks.len()).collect(),
            gutter_tracks: gutters.iter().map(|gutter| gutter.tracks.len()).collect(),
        }
    }
}

/// The gap and the row at each end of a cable.
fn ends(survey: &Survey<'_>, arrangement: &Arrangement, run: usize) -> Option<[(usize, usize); 2]> {
    let end = |number: usize| {
        let spot = survey.runs[run].ends[number]?;
        let of_end =
            |port: &&super::arrange::Port| port.run == run && end_number(port.end) == number;
        let port = arrangement.ports[spot].iter().find(of_end)?;
        let Cell { row, column } = arrangement.cells[spot];
        Some((column + usize::from(port.flank == Flank::Right), row))
    };
    Some([end(0)?, end(1)?])
}

fn route(
    (gap_a, row_a): (usize, usize),
    (gap_b, row_b): (usize, usize),
    gaps: &mut [Tracks],
    gutters: &mut [Tracks],
) -> Route {
    let riser = |gaps: &mut [Tracks], gap: usize, one: usize, other: usize| {
        let track = gaps.get_mut(gap).map_or(0, |tracks| tracks.take(one, other));
        Riser { gap, track }
    };
    if gap_a == gap_b {
        return Route::Direct(riser(gaps, gap_a, row_level(row_a), row_level(row_b)));
    }
    let gutter = if row_b > row_a {
        row_b
    } else if row_b < row_a {
        row_a
    } else {
        row_a + 1
    };
    let up = riser(gaps, gap_a, row_level(row_a), gutter_level(gutter));
    let track = gutters.get_mut(gutter).map_or(0, |tracks| tracks.take(gap_a, gap_b));
    let down = riser(gaps, gap_b, gutter_level(gutter), row_level(row_b));
    Route::Round(up, Reach { gutter, track }, down)
}

/// Rows and gutters on one scale: the gutter above row 0 is level 0.
const fn row_level(row: usize) -> usize {
    2 * row + 1
}

const fn gutter_level(gutter: usize) -> usize {
    2 * gutter
}

/// The tracks of a gap or gutter, each with the stretches taken on it.
#[derive(Clone, Debug, Default)]
struct Tracks {
    tracks: Vec<Vec<(usize, usize)>>,
}

impl Tracks {
    /// The first track that is free from one level to another.
    fn take(&mut self, one: usize, other: usize) -> usize {
        let stretch = (one.min(other), one.max(other));
        let free = |track: &Vec<(usize, usize)>| {
            track.iter().all(|taken| taken.1 < stretch.0 || stretch.1 < taken.0)
        };
        let at = self.tracks.iter().position(free).unwrap_or(self.tracks.len());
        if at == self.tracks.len() {
            self.tracks.push(Vec::new());
        }
        self.tracks[at].push(stretch);
        at
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_that_meet_have_tracks_of_their_own() {
        let mut tracks = Tracks::default();
        assert_eq!(tracks.take(1, 4), 0);
        assert_eq!(tracks.take(4, 7), 1);
        assert_eq!(tracks.take(9, 5), 0);
    }
}
