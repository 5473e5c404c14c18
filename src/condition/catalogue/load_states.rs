//! The load states that matter: what is wrong can show in one and hide in another.

use std::collections::BTreeMap;

use crate::circuit::Circuit;
use crate::condition::LoadState;

/// One way in which the loads of a circuit may stand.
///
/// ```
/// use slotwise::circuit::{Circuit, Description};
/// use slotwise::condition::catalogue::load_settings;
/// let parts = Description { frequency_hz: 50.0, ..Description::default() };
/// let bare = Circuit::new(parts).unwrap();
/// let only = &load_settings(&bare, &Default::default())[0];
/// assert_eq!(only.name, "loads as described");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct LoadSetting {
    /// In words.
    pub name: String,
    /// The state of every load.
    #[serde(skip)]
    pub loads: BTreeMap<String, LoadState>,
}

/// The load states of a circuit: as described, all off, all on, and each on alone. Loads in
/// `stated` stay as they are stated; states that come out the same are listed once.
pub fn load_settings(circuit: &Circuit, stated: &BTreeMap<String, LoadState>) -> Vec<LoadSetting> {
    let loads = &circuit.parts().loads;
    let described = |on: bool| if on { LoadState::On } else { LoadState::Off };
    let setting = |name: String, state: &dyn Fn(&str, bool) -> LoadState| LoadSetting {
        name,
        loads: loads
            .iter()
            .map(|load| {
                let free = state(&load.id, load.on);
                (load.id.clone(), stated.get(&load.id).copied().unwrap_or(free))
            })
            .collect(),
    };
    let mut settings = vec![
        setting("loads as described".into(), &|_, on| described(on)),
        setting("all loads off".into(), &|_, _| LoadState::Off),
        setting("all loads on".into(), &|_, _| LoadState::On),
    ];
    settings.extend(
        loads
            .iter()
            .map(|only| setting(format!("only {} on", only.id), &|id, _| described(id == only.id))),
    );
    let mut kept: Vec<LoadSetting> = Vec::new();
    for setting in settings {
        if !kept.iter().any(|known| known.loads == setting.loads) {
            kept.push(setting);
        }
    }
    kept
}
