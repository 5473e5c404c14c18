//! What nobody is sent to, as the report asks of it: panels whose own metal may be live.

use std::collections::BTreeSet;

use crate::circuit::Circuit;
use crate::condition::words::known::Known;
use crate::diagnosis::{Feeding, Inquiry, PanelMetal, place_of_handle};

/// Panels that nobody is sent to.
pub(super) struct KeptOff<'c> {
    circuit: &'c Circuit,
    /// Whether the metal of the panel that the service feeds may be live.
    pub(super) metal: PanelMetal,
    panels: BTreeSet<String>,
}

impl<'c> KeptOff<'c> {
    pub(super) fn new(circuit: &'c Circuit, inquiry: &Inquiry<'_>) -> Self {
        Self { circuit, metal: inquiry.panel_metal(), panels: inquiry.panels_kept_off() }
    }

    /// Whether a place is one of them.
    pub(super) fn is_panel(&self, place: &str) -> bool {
        self.panels.contains(place)
    }

    /// Whether one of these breakers stands in one of them.
    pub(super) fn is_any_of(&self, breakers: impl IntoIterator<Item = String>) -> bool {
        let stands = |name: String| place_of_handle(self.circuit, &name);
        breakers.into_iter().filter_map(stands).any(|place| self.is_panel(&place))
    }

    /// The panel of them that a breaker stands in which feeds a place, or that the place is.
    pub(super) fn before(&self, place: &str) -> Option<String> {
        if self.panels.is_empty() {
            return None;
        }
        if self.is_panel(place) {
            return Some(place.to_owned());
        }
        let known = Known::of(self.circuit);
        let feeds = Feeding::of(&known).off_at(place).into_keys();
        let mut stands = feeds.filter_map(|name| place_of_handle(self.circuit, &name));
        stands.find(|panel| self.is_panel(panel))
    }
}
