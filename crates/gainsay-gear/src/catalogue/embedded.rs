//! The files of the built-in kinds. Each device file is listed once, in the order in which `gainsay kinds` shows them.

/// Kinds of sources.
pub(super) const SOURCES: &str = include_str!("../../kinds/sources.toml");

/// Spectra of sources.
pub(super) const SPECTRA: &str = include_str!("../../kinds/spectra.toml");

macro_rules! devices {
    ($($id:literal),* $(,)?) => {
        /// Short name and text of every device file.
        pub(super) const DEVICES: &[(&str, &str)] =
            &[$(($id, include_str!(concat!("../../kinds/devices/", $id, ".toml")))),*];
    };
}

devices![
    "usual-moving-coil-microphone",
    "usual-ribbon-microphone",
    "usual-active-ribbon-microphone",
    "usual-condenser-microphone",
    "usual-pickup",
    "moving-coil-vocal",
    "moving-coil-broadcast",
    "moving-coil-instrument",
    "moving-coil-bass-drum",
    "ribbon-figure-of-eight",
    "ribbon-active-figure-of-eight",
    "small-condenser-cardioid",
    "small-condenser-omni",
    "large-condenser-cardioid",
    "large-condenser-usual",
    "budget-large-condenser",
    "electret-lavalier",
    "measurement-electret-omni",
    "valve-condenser-large",
    "shotgun",
    "boundary",
    "contact-pickup",
    "usual-booster",
    "booster-fet-25-db",
    "booster-fet-20-db",
    "booster-low-noise-bipolar",
    "booster-transformer-20-db",
    "booster-phantom-through-12-db",
    "usual-preamp",
    "preamp-transparent-60-db",
    "preamp-transformer-colour",
    "preamp-transformer-colour-with-output-control",
    "preamp-valve-input",
    "preamp-budget-single",
    "preamp-eight-channel-analogue",
    "preamp-high-gain-70-db",
    "usual-interface",
    "desk-interface-two-inputs",
    "desk-interface-four-inputs",
    "budget-interface-one-input",
    "older-interface-two-inputs",
    "interface-eight-inputs",
    "interface-high-gain-two-inputs",
    "portable-recorder-two-inputs",
    "mixing-desk-interface-twelve",
    "usual-converter",
    "converter-box-eight-microphone-inputs",
    "converter-eight-line-inputs",
    "converter-two-line-mastering-grade",
    "converter-sixteen-line-aes10",
    "converter-eight-microphone-inputs-network",
    "usual-microphone-cable",
    "instrument-cable",
    "star-quad-cable",
];
