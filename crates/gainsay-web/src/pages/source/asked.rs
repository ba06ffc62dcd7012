//! What is asked of a source by what-ifs, and keeping it.

use crate::layout;
use crate::pages::case::with_site;
use crate::pages::file::not_saved;
use crate::pages::notice::go_home;
use crate::pages::{State, wrong};
use crate::shelf::Opened;
use crate::words;
use axum::extract::{Form, Path};
use axum::http::StatusCode;
use axum::response::Response;
use gainsay_folder::adopt::adopt_what_if;
use gainsay_folder::folder::Version;
use gainsay_gear::{Catalogue, Device, DeviceType};
use gainsay_plan::WhatIf;
use gainsay_plan::case::{Pickup, Source};
use gainsay_plan::patch::possible_inputs;
use gainsay_units::{Decibels, Metres};
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;
use std::time::SystemTime;

/// What is asked: as the fields of the form stand.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Asked {
    /// dB; empty where it is chosen.
    pub(super) gain: String,
    /// m.
    pub(super) distance: String,
    /// dB louder.
    pub(super) louder: String,
    /// m.
    pub(super) cable: String,
    pub(super) microphone: String,
    /// Empty as it is, `none` without one.
    pub(super) booster: String,
    /// Index of the input among those that there are; empty as it is.
    pub(super) input: String,
    /// The version of the case that is changed, where it is to be kept.
    pub(super) base: String,
}

impl Asked {
    /// What is asked beyond how it stands: sliders that nobody moved send their place as well, rounded to their steps.
    fn changed(&self, opened: &Opened, source: &Source, index: usize) -> WhatIf {
        let mut what_if = self.what_if(opened.own());
        let result = opened.answer.sources.get(index).and_then(|source| source.result.as_ref());
        let is_near = |a: f64, b: f64, step: f64| (a - b).abs() <= 0.51 * step;
        if let (Some(gain), Some(now)) = (what_if.gain, result.and_then(|result| result.gain_db))
            && is_near(gain.db(), now, 1.0)
        {
            what_if.gain = None;
        }
        if let (Some(distance), Pickup::Acoustic { distance: now, .. }) = (what_if.distance, &source.pickup)
            && is_near(distance.metres(), now.value.metres(), 0.01)
        {
            what_if.distance = None;
        }
        if what_if.cable.is_some_and(|cable| is_near(cable.metres(), source.cable_length.value.metres(), 1.0))
        {
            what_if.cable = None;
        }
        what_if.louder = what_if.louder.filter(|louder| louder.db().abs() > 0.0);
        what_if
    }

    pub(super) fn anything(&self) -> bool {
        let fields = [
            &self.gain,
            &self.distance,
            &self.louder,
            &self.cable,
            &self.microphone,
            &self.booster,
            &self.input,
        ];
        fields.iter().any(|field| !field.trim().is_empty())
    }

    /// The what-if of these fields; devices are looked for among one's own first, then among those built in.
    pub(super) fn what_if(&self, own: &[Arc<Device>]) -> WhatIf {
        let number = |text: &String, least: f64, most: f64| {
            let number = text.trim().replace(',', ".").parse::<f64>().ok();
            number.filter(|n| n.is_finite()).map(|n| n.clamp(least, most))
        };
        let device = |name: &str, of: DeviceType| {
            if let Some(own) = own.iter().find(|device| device.id == name && device.device_type() == of) {
                return Some(Arc::clone(own));
            }
            let mut device =
                Catalogue::embedded().device(name).filter(|device| device.device_type() == of)?;
            Catalogue::embedded().fill(&mut device);
            Some(Arc::new(device))
        };
        WhatIf {
            gain: number(&self.gain, -20.0, 120.0).map(Decibels::new),
            distance: number(&self.distance, 0.01, 100.0).map(Metres::new),
            louder: number(&self.louder, -60.0, 60.0).map(Decibels::new),
            cable: number(&self.cable, 0.1, 500.0).map(Metres::new),
            microphone: device(&self.microphone, DeviceType::Microphone),
            booster: match self.booster.as_str() {
                "" => None,
                "none" => Some(None),
                name => device(name, DeviceType::Booster).map(Some),
            },
        }
    }
}

/// Writes what is asked into the case.
pub(crate) async fn keep(
    site: State,
    Path((name, number)): Path<(String, usize)>,
    Form(asked): Form<Asked>,
) -> Result<Response, Response> {
    with_site(site, name, move |site, named, opened| {
        let index = number.saturating_sub(1);
        let Some(source) = opened.case.sources.get(index).filter(|_| number > 0) else {
            return layout::not_found();
        };
        if Version::parse(&asked.base) != Some(opened.version) {
            return layout::error(StatusCode::CONFLICT, words::CASE_CHANGED);
        }
        let what_if = asked.changed(opened, source, index);
        let input = asked.input.trim().parse::<usize>().ok();
        let input = input.and_then(|at| possible_inputs(&opened.case, index).into_iter().nth(at));
        let text = match adopt_what_if(&opened.text, &opened.case, index, &what_if, input.as_ref()) {
            Ok(text) => text,
            Err(error) => {
                let why = format!("Nothing was changed: {}; {}.", error.message(), error.mend());
                return layout::error(StatusCode::UNPROCESSABLE_ENTITY, &why);
            }
        };
        if let Err(error) = named.check(site, &text) {
            return wrong("These settings do not fit into the case", &error);
        }
        let base = Some(opened.version);
        match site.shelf.folder().save(named.place, &named.name, &text, base, SystemTime::now()) {
            Ok(version) => go_home(named, base, version),
            Err(error) => not_saved(named, &text, base, &error),
        }
    })
    .await
}

/// The button that writes what is asked into the case, if that is anything.
pub(super) fn keep_form(opened: &Opened, index: usize, asked: &Asked) -> Markup {
    let is_new = opened.case.sources.get(index).is_some_and(|source| {
        asked.changed(opened, source, index) != WhatIf::default() || !asked.input.trim().is_empty()
    });
    html! {
        @if is_new {
            form.keep-settings action={ "/cases/" (opened.name) "/sources/" (index + 1) } method="post" {
                @for (name, value) in [
                    ("gain", &asked.gain), ("distance", &asked.distance), ("louder", &asked.louder), ("cable", &asked.cable),
                    ("microphone", &asked.microphone), ("booster", &asked.booster), ("input", &asked.input),
                ] { input type="hidden" name=(name) value=(value); }
                input type="hidden" name="base" value=(opened.version);
                button type="submit" { (words::KEEP_SETTINGS) }
            }
        }
    }
}
