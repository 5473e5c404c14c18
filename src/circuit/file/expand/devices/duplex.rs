//! Duplexes whose halves are wired apart.

use crate::circuit::diagnostic::Diagnostic;
use crate::circuit::file::form::{DeviceForm, TabForm, Text};
use crate::circuit::file::tree::Span;
use crate::circuit::{DeviceKind, JointKind, Outlet, Side, Tab};
use crate::quantity::Address;

use super::{At, Fittings, word};
use crate::circuit::file::expand::Expansion;

impl Expansion<'_> {
    pub(super) fn duplex(&mut self, form: &DeviceForm, at: &At<'_>, fittings: &mut Fittings) {
        let DeviceForm::Duplex {
            configuration,
            top,
            bottom,
            top_neutral,
            bottom_neutral,
            hot_tab,
            neutral_tab,
            ..
        } = form
        else {
            return;
        };
        let configuration = self.configuration(configuration.as_ref());
        if configuration.slots != ["hot", "neutral", "ground"] {
            self.say(
                Diagnostic::error(
                    "not-a-duplex",
                    format!("{} does not come as a duplex with tabs", configuration.name),
                    at.span.clone(),
                )
                .with_expected("a configuration with hot, neutral and ground, as \"NEMA 5-15\""),
            );
        }
        for (conductor, upper, lower, tab) in
            [("hot", top, bottom, hot_tab), ("neutral", top_neutral, bottom_neutral, neutral_tab)]
        {
            let halves = [("top", upper), ("bottom", lower)];
            self.duplex_side(conductor, halves, *tab != Some(TabForm::Broken), at, fittings);
        }
        let mut ground = at.tap("ground", "ground", "ground");
        ground.optional = true;
        fittings.taps.push(ground);
        for half in ["top", "bottom"] {
            let node = |slot: &str| Address::from(format!("{}.{half}.{slot}", at.id));
            fittings.outlets.push(Outlet {
                address: Address::from(format!("{}.{half}", at.id)),
                configuration: configuration.name.to_owned(),
                slots: vec![
                    ("hot".to_owned(), node("hot")),
                    ("neutral".to_owned(), node("neutral")),
                    ("ground".to_owned(), Address::from(format!("{}.ground", at.id))),
                ],
            });
        }
        let tab = |form: Option<TabForm>| Tab {
            intact: form != Some(TabForm::Broken),
            resistance_ohm: self.contacts.tab_ohm,
            gap_farad: self.contacts.tab_gap_farad,
        };
        let kind = DeviceKind::Duplex {
            configuration: configuration.name.to_owned(),
            hot_tab: tab(*hot_tab),
            neutral_tab: tab(*neutral_tab),
        };
        self.push_device(at.id.clone(), kind, fittings);
    }

    /// Both halves of one conductor of a duplex: one wire for both where the tab is in place.
    fn duplex_side(
        &mut self,
        conductor: &str,
        halves: [(&str, &Option<Text>); 2],
        intact: bool,
        at: &At<'_>,
        fittings: &mut Fittings,
    ) {
        let id = &at.id;
        let joint = (JointKind::Tab, Side::Here);
        let element = format!("tab:{id}.{conductor}");
        self.joint(format!("{id}.tab.{conductor}"), element, (at.place, conductor), joint);
        let names = halves.map(|(_, stated)| word(stated.as_ref(), conductor));
        if intact && names[0] != names[1] {
            let spans: Vec<Span> = halves
                .iter()
                .filter_map(|(_, text)| text.as_ref().map(|t| t.span.clone()))
                .collect();
            let span = spans.first().cloned().unwrap_or(at.span.clone());
            self.say(
                Diagnostic::error(
                    "tab-left-in",
                    format!(
                        "the halves take `{}` and `{}`, but the tab between them is in place",
                        names[0], names[1]
                    ),
                    span,
                )
                .with_expected(format!("`{conductor}_tab: Broken`"))
                .with_help("a tab left in by mistake is a fault: say it in a condition"),
            );
        }
        let wired = if intact && names[0] == names[1] { 1 } else { 2 };
        for ((half, stated), name) in halves.iter().zip(&names).take(wired) {
            let mut tap =
                at.tap(name, &format!("{half}.{conductor}"), &format!("{half}.{conductor}"));
            if let Some(stated) = stated {
                tap.span = stated.span.clone();
            }
            fittings.taps.push(tap);
        }
        for ((half, _), name) in halves.iter().zip(&names) {
            self.outlet_conductors
                .entry(format!("{id}.{half}"))
                .or_default()
                .insert(conductor.to_owned(), name.clone());
        }
    }
}
