//! `gainsay kinds`.

use crate::arguments::Kinds;
use crate::exit::{Exit, Failure};
use crate::output::{self, QUIET, STRONG, styled};
use gainsay_gear::{Catalogue, Device, DeviceType, FrontEnd, Model, SourceKind};
use gainsay_units::{Measurable, Problem, Stated};

const FAMILIES: [(&str, Option<DeviceType>); 7] = [
    ("sources", None),
    ("microphones", Some(DeviceType::Microphone)),
    ("boosters", Some(DeviceType::Booster)),
    ("preamps", Some(DeviceType::Preamp)),
    ("interfaces", Some(DeviceType::Interface)),
    ("converters", Some(DeviceType::Converter)),
    ("cables", Some(DeviceType::Cable)),
];

/// Columns of a terminal that has room for names beside short names.
const WITH_NAMES: usize = 140;

pub(crate) fn run(arguments: &Kinds) -> Result<Exit, Failure> {
    let catalogue = Catalogue::embedded();
    let text = match &arguments.what {
        None => overview(catalogue),
        Some(what) => {
            let wanted = what.trim().to_lowercase();
            let family =
                FAMILIES.iter().find(|(name, _)| *name == wanted || name.strip_suffix('s') == Some(&wanted));
            match family {
                Some((_, None)) => sources(catalogue),
                Some((_, Some(device_type))) => devices(catalogue, *device_type),
                None => one(catalogue, what)?,
            }
        }
    };
    output::print(&text)?;
    Ok(Exit::Answered)
}

fn overview(catalogue: &Catalogue) -> String {
    let mut lines = vec![styled(STRONG, "Built in")];
    for (name, device_type) in FAMILIES {
        let count = device_type.map_or(catalogue.sources().len(), |t| catalogue.devices(t).len());
        lines.push(format!("  {name:<12} {count:>3}   gainsay kinds {name}"));
    }
    lines.push(String::new());
    lines.push(output::paragraph(
        "One kind in full, with the source of its figures: gainsay kinds fiddle. A device file of your own in the gear folder \
         takes what it does not state from the kind that it names in `like`.",
        "",
    ));
    lines.join("\n")
}

fn written<T: Measurable>(stated: Option<&Stated<T>>) -> String {
    stated.and_then(Stated::figure).map_or_else(|| "–".to_owned(), |figure| figure.written.clone())
}

fn sources(catalogue: &Catalogue) -> String {
    let rows = catalogue
        .sources()
        .iter()
        .map(|kind| {
            let levels = &kind.levels;
            let (quiet, loud) = if kind.is_electrical() {
                (written(levels.quiet_output.as_ref()), written(levels.loud_output.as_ref()))
            } else {
                (written(levels.quiet.as_ref()), written(levels.loud.as_ref()))
            };
            vec![
                kind.name.clone(),
                kind.family.clone(),
                quiet,
                loud,
                written(levels.distance.as_ref()),
                written(levels.crest.as_ref()),
            ]
        })
        .collect();
    output::table(
        &["Source", "Family", "Quietest", "Loudest", "At", "Crest"],
        rows,
        &[2, 3, 4, 5],
        &[2, 3, 4, 5],
    )
}

fn devices(catalogue: &Catalogue, device_type: DeviceType) -> String {
    let devices = catalogue.devices(device_type);
    // Names say in words what the short names say; they are left out where there is no room for both.
    let with_names = output::columns() >= WITH_NAMES;
    let rows = devices
        .iter()
        .map(|device| {
            let mut row = device_row(device);
            if !with_names {
                row.remove(1);
            }
            row
        })
        .collect();
    let head: &[&str] = match device_type {
        DeviceType::Microphone => &["Short name", "Name", "Sensitivity", "Own noise", "Maximum SPL"],
        DeviceType::Booster => &["Short name", "Name", "Gain", "EIN", "Input impedance"],
        DeviceType::Preamp | DeviceType::Interface | DeviceType::Converter => {
            &["Short name", "Name", "Gain range", "Maximum input", "EIN"]
        }
        DeviceType::Cable => &["Short name", "Name", "Capacitance", "Length"],
    };
    let head: Vec<&str> =
        head.iter().enumerate().filter(|(i, _)| with_names || *i != 1).map(|(_, h)| *h).collect();
    output::table(&head, rows, &[], &[0])
}

fn device_row(device: &Device) -> Vec<String> {
    let mut row = vec![device.id.clone(), device.name.clone()];
    row.extend(match &device.model {
        Model::Microphone(m) => {
            let passive = m.transducer.is_some_and(gainsay_gear::microphone::Transducer::is_passive);
            let noise = if passive { "thermal".to_owned() } else { written(m.self_noise.as_ref()) };
            vec![written(m.sensitivity.as_ref()), noise, written(m.maximum_spl.as_ref())]
        }
        Model::Booster(b) => {
            vec![written(b.gain.as_ref()), written(b.ein.as_ref()), written(b.input_impedance.as_ref())]
        }
        Model::Preamp(f) | Model::Interface(f) | Model::Converter(f) => front_end_row(f),
        Model::Cable(c) => vec![written(c.capacitance.as_ref()), written(c.length.as_ref())],
    });
    row
}

fn front_end_row(front_end: &FrontEnd) -> Vec<String> {
    match front_end.microphone_inputs.first() {
        Some(group) => {
            vec![
                written(group.gain_range.as_ref()),
                written(group.maximum_input.as_ref()),
                written(group.ein.as_ref()),
            ]
        }
        None => {
            let line = front_end.line_inputs.first();
            vec!["line".to_owned(), written(line.and_then(|l| l.full_scale.as_ref())), "–".to_owned()]
        }
    }
}

/// One kind in full.
fn one(catalogue: &'static Catalogue, name: &str) -> Result<String, Failure> {
    if let Some(kind) = catalogue.source(name) {
        return Ok(source(kind));
    }
    if let Some(device) = catalogue.device(name) {
        let text = catalogue.device_text(&device.id).unwrap_or_default();
        return Ok(format!("{}\n\n{text}", styled(QUIET, &format!("# built in as \"{}\"", device.id))));
    }
    let names = catalogue
        .source_names()
        .chain(catalogue.device_names())
        .chain(FAMILIES.iter().map(|(name, _)| *name));
    Err(Failure::Input(format!("there is no kind \"{name}\""), Problem::nearest(name, names)))
}

fn source(kind: &SourceKind) -> String {
    let levels = &kind.levels;
    let mut lines = vec![styled(STRONG, &kind.name)];
    if !kind.aliases.is_empty() {
        lines.push(output::hanging(&format!("also: {}", kind.aliases.join(", ")), "", "  "));
    }
    if kind.is_electrical() {
        lines.push(format!("quietest    {}", written(levels.quiet_output.as_ref())));
        lines.push(format!("loudest     {}", written(levels.loud_output.as_ref())));
        lines.push(format!("own noise   {}", written(levels.output_noise.as_ref())));
        lines.push(format!("output      {}", written(levels.output_impedance.as_ref())));
    } else {
        let at = written(levels.distance.as_ref());
        lines.push(format!("quietest    {} at {at}", written(levels.quiet.as_ref())));
        lines.push(format!("loudest     {} at {at}", written(levels.loud.as_ref())));
        lines.push(format!("size        {}", written(levels.size.as_ref())));
        lines.push(format!("microphone  {} at {} m, usually", kind.usual_microphone, kind.usual_distance_m));
    }
    lines.push(format!("crest       {}", written(levels.crest.as_ref())));
    lines.push(format!("spectrum    {}", kind.spectrum));
    lines.push(output::hanging(&format!("source      {}", kind.source), "", "            "));
    lines.join("\n")
}
