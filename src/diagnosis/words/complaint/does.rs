//! What lights and loads are complained of.

/// What is said of lights or loads.
#[derive(Clone, Copy)]
pub(super) enum Does {
    Dims,
    Brightens,
    Flickers,
    Dead,
}

/// How it is said, longer ways before their beginnings.
pub(super) const DOES: [(&str, Does); 37] = [
    ("burn dim", Does::Dims),
    ("go dim", Does::Dims),
    ("dim", Does::Dims),
    ("dims", Does::Dims),
    ("dip", Does::Dims),
    ("dips", Does::Dims),
    ("weak", Does::Dims),
    ("slow", Does::Dims),
    ("runs slow", Does::Dims),
    ("runs weak", Does::Dims),
    ("lukewarm", Does::Dims),
    ("get brighter", Does::Brightens),
    ("gets brighter", Does::Brightens),
    ("burn too bright", Does::Brightens),
    ("too bright", Does::Brightens),
    ("brighten", Does::Brightens),
    ("brightens", Does::Brightens),
    ("brighter", Does::Brightens),
    ("bright", Does::Brightens),
    ("too fast", Does::Brightens),
    ("flicker", Does::Flickers),
    ("flickers", Does::Flickers),
    ("flickering", Does::Flickers),
    ("blink", Does::Flickers),
    ("cut out", Does::Flickers),
    ("cuts out", Does::Flickers),
    ("come and go", Does::Flickers),
    ("comes and goes", Does::Flickers),
    ("does not run", Does::Dead),
    ("do not run", Does::Dead),
    ("does not work", Does::Dead),
    ("do not work", Does::Dead),
    ("does nothing", Does::Dead),
    ("without power", Does::Dead),
    ("no power", Does::Dead),
    ("out", Does::Dead),
    ("dead", Does::Dead),
];
