//! What is recorded, with which microphone, through which of them.

use super::{Asked, Outcome};
use crate::words;
use gainsay_folder::library::Library;
use gainsay_gear::{Catalogue, Device, DeviceType};
use gainsay_plan::footing::Class;
use maud::{Markup, html};

const MICROPHONES: &[DeviceType] = &[DeviceType::Microphone];
const BOXES: &[DeviceType] = &[DeviceType::Interface, DeviceType::Preamp, DeviceType::Converter];

/// The form; without what is recorded, where the devices have nothing in common.
pub(super) fn form(asked: &Asked, outcome: &Outcome, class: Option<Class>) -> Markup {
    html! {
        form.compare method="get" action="/gear/compare" {
            ul.shelf {
                @for one in &outcome.chosen {
                    li { label { input type="checkbox" name="device" value=(one.device.id) checked; " " (one.device.name) } }
                }
            }
            @if let Some(class) = class { (recording(asked, &outcome.library, class)) }
            p.buttons {
                button type="submit" { (words::COMPARE) }
                a href={ "/gear?" (Asked::default().query(outcome.chosen.iter().map(|one| one.device.id.as_str()))) } { (words::TICK_OTHERS) }
            }
        }
    }
}

fn recording(asked: &Asked, library: &Library, class: Class) -> Markup {
    let catalogue = Catalogue::embedded();
    html! {
        div.fields { div.grid {
            p.entry {
                label for="compare-source" { (words::RECORDED) }
                select #compare-source name="source" {
                    option value="" { (words::NOTHING) }
                    @for kind in catalogue.sources() { option value=(kind.name) selected[kind.name == asked.source] { (kind.name) } }
                }
            }
            @if class != Class::Microphones {
                p.entry {
                    label for="compare-microphone" { (words::WITH_MICROPHONE) }
                    (devices("microphone", words::USUAL_ONE, &asked.microphone, MICROPHONES, library))
                }
            }
            @if class != Class::Inputs {
                p.entry {
                    label for="compare-into" { (words::INTO) }
                    (devices("into", words::USUAL_BOX, &asked.into, BOXES, library))
                }
            }
            (text("distance", words::DISTANCE, words::DISTANCE_HINT, &asked.distance))
            (text("room", words::ROOM, words::ROOM_HINT, &asked.room))
        } }
    }
}

/// The folder's own devices first, then those that are built in.
fn devices(name: &str, usual: &str, chosen: &str, types: &[DeviceType], library: &Library) -> Markup {
    let own: Vec<&Device> = library
        .held
        .iter()
        .map(|held| &held.device)
        .filter(|device| types.contains(&device.device_type()))
        .collect();
    let built_in = types.iter().flat_map(|kind| Catalogue::embedded().devices(*kind));
    let built_in: Vec<Device> =
        built_in.filter(|device| library.held.iter().all(|held| held.device.id != device.id)).collect();
    let option =
        |device: &Device| html! { option value=(device.id) selected[device.id == chosen] { (device.name) } };
    html! {
        select id={ "compare-" (name) } name=(name) {
            option value="" { (usual) }
            @if !own.is_empty() { optgroup label=(words::YOUR_GEAR) { @for device in own { (option(device)) } } }
            optgroup label=(words::BUILT_IN) { @for device in &built_in { (option(device)) } }
        }
    }
}

fn text(name: &str, label: &str, hint: &str, value: &str) -> Markup {
    let id = format!("compare-{name}");
    html! {
        p.entry {
            label for=(id) { (label) }
            input #(id) type="text" name=(name) value=(value) maxlength="40" autocomplete="off" aria-describedby={ (id) "-hint" };
            span.hint id={ (id) "-hint" } { (hint) }
        }
    }
}
