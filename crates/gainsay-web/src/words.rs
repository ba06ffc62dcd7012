//! The page's own words: names of its parts, labels, hints. What is said of a case stands in `gainsay-plan`.

use gainsay_gear::DeviceType;
use gainsay_plan::footing::{Class, GroupKind, Known};
pub(crate) use gainsay_plan::words::capital;

pub(crate) const NAME: &str = "Gainsay";
pub(crate) const SKIP: &str = "To the text";
pub(crate) const ASK: &str = "Ask";
pub(crate) const CASES: &str = "Cases";
pub(crate) const GEAR: &str = "Gear";
pub(crate) const ANSWER: &str = "Answer";
pub(crate) const PATCH: &str = "Patch";
pub(crate) const OPTIONS: &str = "Options";
pub(crate) const INPUTS: &str = "Inputs";
pub(crate) const LEVEL: &str = "Level";
pub(crate) const COLOUR: &str = "Colour";
pub(crate) const ASK_NEXT: &str = "Ask or measure next";
pub(crate) const ASSUMED: &str = "Assumed, because nobody said";
pub(crate) const TAKE_CARE: &str = "Take care";
pub(crate) const REMARKS: &str = "Remarks";
pub(crate) const IN_WORDS: &str = "The picture in words";
pub(crate) const BRACKETS: &str = "In brackets: where the truth lies with a probability of 95 %.";
pub(crate) const ONLY_IF_COLOUR: &str = "Not looked at yet: how hard the preamp must be driven.";
pub(crate) const NOT_WANTED: &str = "nobody asked for it";
pub(crate) const DOWNLOAD: &str = "To keep";
pub(crate) const PICTURE_FILE: &str = "picture (SVG)";
pub(crate) const DATA_FILE: &str = "figures (JSON)";
pub(crate) const QUESTION_LEAD: &str = "Is it good enough?";
pub(crate) const QUESTION_HINT: &str = "Say what you record, and with what. Leave out what you do not know.";
pub(crate) const MAKE_A_CASE: &str = "Make a case of this";
pub(crate) const SHOW: &str = "Answer";
pub(crate) const NO_CASES: &str =
    "There is no case in this folder yet. Ask a question and make a case of it, or begin one here.";
pub(crate) const NEW_CASE: &str = "A new case";
pub(crate) const CALLED: &str = "What it is called";
pub(crate) const FIRST_SOURCE: &str = "What is recorded, or the first of it";
pub(crate) const PLUGGED_INTO: &str = "What it is plugged into, or the first of it";
pub(crate) const BEGIN_CASE: &str = "Begin it";
pub(crate) const NOT_FOUND: &str = "There is nothing here.";
pub(crate) const WHAT_IF: &str = "What if";
pub(crate) const AS_IT_STANDS: &str = "Back to how it stands";
pub(crate) const UNFOLDED: &str = "Every figure, stage by stage";
pub(crate) const WRONG_FILE: &str = "This file can't be read as it is";
pub(crate) const CHANGE: &str = "Change";
pub(crate) const FORM: &str = "Form";
pub(crate) const TEXT: &str = "Text";
pub(crate) const EARLIER: &str = "Earlier";
pub(crate) const SAVE: &str = "Save";
pub(crate) const SAVE_ANYWAY: &str = "Save all the same";
pub(crate) const LET_IT_BE: &str = "Leave it as it was";
pub(crate) const TEXT_OF_FILE: &str = "The file's text";
pub(crate) const NOT_SAVED: &str = "Not saved.";
pub(crate) const THEIRS: &str = "What stands there now";
pub(crate) const SAVE_OVER: &str = "Below is yours. Take over from the other what you need; saving puts yours in its place, and keeps the \
     other among the earlier texts.";
pub(crate) const NO_EARLIER: &str = "Nothing has been changed here yet.";
pub(crate) const RESTORE: &str = "Bring this text back";
pub(crate) const MOVE_UP: &str = "Move up";
pub(crate) const REMOVE: &str = "Remove";
pub(crate) const SAVED: &str = "Saved.";
pub(crate) const UNDO: &str = "Undo";
pub(crate) const NO_VERDICT_TURNED: &str = "No verdict has changed by it.";
pub(crate) const NOT_DELETED: &str = "It is not deleted";
pub(crate) const GONE: &str = "This file is no longer there.";
pub(crate) const GONE_HINT: &str =
    "It has been deleted or renamed. Its last text is kept and can be brought back.";
pub(crate) const BRING_BACK: &str = "Bring it back";
pub(crate) const EARLIER_TEXTS: &str = "All its earlier texts";
pub(crate) const DELETE: &str = "Delete this file";
pub(crate) const DELETED: &str = "Deleted";
pub(crate) const MAKE_CHANGE: &str = "Make this change";
pub(crate) const KEEP_SETTINGS: &str = "Keep these settings";
pub(crate) const OPTIONS_CHANGED: &str = "The case has been changed since these options were worked out. Nothing was \
     changed now: look at its options as they are.";
pub(crate) const NO_SUCH_OPTION: &str =
    "There is no such option any more. Nothing was changed: look at the options as they are.";
pub(crate) const YOURS: &str = "What you have";
pub(crate) const KEEP_THEIRS: &str = "Keep what stands there";
pub(crate) const SAVE_MINE: &str = "Save mine in its place";
pub(crate) const TABLE_FILE: &str = "table (CSV)";
pub(crate) const LINK: &str = "Link to this question";
pub(crate) const CASE_CHANGED: &str = "The case has been changed elsewhere meanwhile. Nothing was changed now: go back, and try it on \
     the case as it is.";
pub(crate) const MARKED_LINES: &str = "Marked: lines that do not stand there now.";
pub(crate) const TO_CASE: &str = "To the case";
pub(crate) const TO_DEVICE: &str = "To the device";
pub(crate) const MORE_FIELDS: &str = "More that can be said";

pub(crate) const PASTE_SHEET: &str = "Read a specification sheet";
pub(crate) const PASTE_HOW: &str = "Paste the technical data of one device, as its maker lays them out: English, German or French, \
     tables or sentences. You see what each figure was read from before anything is kept.";
pub(crate) const SHEET_TEXT: &str = "Technical data";
pub(crate) const SHEET_KIND: &str = "What it is";
pub(crate) const TEXT_DECIDES: &str = "the text says it";
pub(crate) const READ_SHEET: &str = "Read it";
pub(crate) const NAME_IT: &str = "Name in your gear";
pub(crate) const KEEP_DEVICE: &str = "Keep this device";
pub(crate) const NAME_TAKEN: &str =
    "There is a device of this name already, and nothing is overwritten: take another name.";
pub(crate) const TO_DOUBT: &str = "To doubt";
pub(crate) const NOT_UNDERSTOOD: &str = "Not understood";
pub(crate) const NO_FIELD_FOR_IT: &str = "Understood, but a device file has no field for it";
pub(crate) const COMPARE: &str = "Compare";
pub(crate) const CHOOSE_DEVICES: &str = "Choose devices of your gear";
pub(crate) const ON_ONE_FOOTING: &str = " to see them on one footing.";
pub(crate) const BESIDE_OTHERS: &str = "Put it beside others";
pub(crate) const IN_THE_TABLE: &str = " The same figures stand in the table.";
pub(crate) const WINDOW: &str = "What it takes in";
pub(crate) const BUILT_IN: &str = "Built in";

/// What a field of a file is called in a form.
pub(crate) fn label(key: &str) -> String {
    match key {
        "source" => "Sources".to_owned(),
        "owned" => "What is there already".to_owned(),
        "link" => "Connections that are as they are".to_owned(),
        "option" => "What could be added or changed".to_owned(),
        "options" => "Budget, and what stays".to_owned(),
        _ => {
            let words: Vec<&str> =
                key.split('_').map(|word| if word == "ein" { "EIN" } else { word }).collect();
            capital(&words.join(" "))
        }
    }
}

/// What the button says that adds a table of a name.
pub(crate) fn add(key: &str) -> String {
    match key {
        "source" => "Add a source".to_owned(),
        "owned" => "Add a device".to_owned(),
        "link" => "Add a connection".to_owned(),
        "option" => "Add an option".to_owned(),
        _ => format!("Add {}", key.replace('_', " ")),
    }
}

pub(crate) const AGAIN: &str = "again";
pub(crate) const TOO_MANY_FIELDS: &str = "These are more fields than a sheet has figures.";
pub(crate) const ANOTHER_NAME: &str = "One that is free is proposed below.";
pub(crate) const NOT_KEPT: &str = "Not kept: the device file would be wrong.";
pub(crate) const LOOK_IT_OVER: &str = "Compare each figure with the words behind it. Correct what was read wrongly; take the tick away from \
     what should not go into the file.";
pub(crate) const KEEP_IT: &str = "Keep it";
pub(crate) const DEVICE_NAME: &str = "Name of the device";
pub(crate) const FILE_NAME_HINT: &str =
    "Small letters, digits and hyphens. Made from the device's name if nothing stands here.";
pub(crate) const LEFT_OUT: &str =
    "Left out, because it can't be true as it stands. Correct it and set the tick.";
pub(crate) const OR_IT_IS: &str = "Or it is";
pub(crate) const NOT_SAID: &str = "Not said in one place.";

/// What a sheet was taken for.
pub(crate) fn as_read(with_article: &str) -> String {
    format!("Read as {with_article}")
}

pub(crate) const RECORDED: &str = "To record";
pub(crate) const NOTHING: &str = "nothing in particular";
pub(crate) const WITH_MICROPHONE: &str = "With the microphone";
pub(crate) const USUAL_ONE: &str = "the usual microphone";
pub(crate) const INTO: &str = "Plugged into";
pub(crate) const USUAL_BOX: &str = "a usual interface";
pub(crate) const YOUR_GEAR: &str = "In your folder";
pub(crate) const DISTANCE: &str = "From source to microphone";
pub(crate) const DISTANCE_HINT: &str = "Such as 60 cm; as usual for the source if nothing stands here.";
pub(crate) const ROOM: &str = "Noise of the room";
pub(crate) const ROOM_HINT: &str = "Such as 28 dBA or NR 20; as usual if nothing stands here.";
pub(crate) const NOISE_AS_SOUND: &str = "noise as sound";
pub(crate) const PERFECT_GAINS: &str = "a perfect preamp gains";
pub(crate) const PEAK: &str = "peak";
pub(crate) const EVERY_FIGURE: &str = "Every figure, device by device";
pub(crate) const DEVICE: &str = "Device";
pub(crate) const MICROPHONE_INPUTS: &str = "Microphone inputs";
pub(crate) const LINE_INPUTS: &str = "Line inputs";

/// Above what each device makes of one source.
pub(crate) fn recorded_by_each(source: &str) -> String {
    format!("The same {source} through each")
}
pub(crate) const WAYS_OF_CHANGING: &str = "Ways of changing it";
pub(crate) const RESTS_ON: &str = "What these figures rest on";
pub(crate) const THE_SHEET_SAYS: &str = "The sheet says";
pub(crate) const DOUBTED_ON_THE_SHEET: &str = "To doubt on its sheet";
pub(crate) const FIND: &str = "Find";
pub(crate) const AMONG: &str = "among";
pub(crate) const ALL_KINDS: &str = "all kinds";
pub(crate) const FIND_THEM: &str = "Find them";
pub(crate) const FIND_HINT: &str =
    "Words of a name or a note, or conditions: phantom=no, transducer=ribbon, price<300, inputs>4.";
pub(crate) const NAME_OF_IT: &str = "Name";
pub(crate) const PRICE: &str = "Price";
pub(crate) const DOUBTS: &str = "Doubts";
pub(crate) const KEEP_COPY: &str = "Keep a copy in my folder";
pub(crate) const COPY: &str = "Keep a copy";
pub(crate) const BUILT_IN_HOW: &str =
    "Typical devices that come with Gainsay. They can't be changed; a copy in your folder can.";
pub(crate) const IS_BUILT_IN: &str =
    "This is a typical device that comes with Gainsay. It can't be changed; a copy in your folder can.";
pub(crate) const COPY_FILE_HINT: &str = "Small letters, digits and hyphens.";
pub(crate) const TICKED_TOO: &str = "Ticked as well";
pub(crate) const COMPARE_TICKED: &str = "Compare what is ticked";
pub(crate) const TICK_SOME: &str =
    "Tick what is to stand side by side; a tick stays while you look for others.";
pub(crate) const WRONG_FILES: &str = "Files with something wrong in them";
pub(crate) const WRONG_FILES_HOW: &str = "A case is read with all the gear of its folder: mend these first.";
pub(crate) const ITS_TEXT: &str = "To its text";
pub(crate) const TICK_OTHERS: &str = "Tick others";
pub(crate) const REMOVED: &str = "Removed:";
pub(crate) const TEXTS_STAY: &str = "Its texts stay among the earlier ones, and it can be brought back.";
pub(crate) const REMOVE_DEVICE: &str = "Remove it";
pub(crate) const NAMED_BY: &str = "It is named by these cases, which can't be answered without it:";
pub(crate) const CHANGED_SINCE_ASKED: &str =
    "It has been changed since you were asked. Nothing was removed: look at it again.";
pub(crate) const DEVICE_FILE: &str = "its file (TOML)";

/// Several devices of a type, as a heading.
pub(crate) const fn several(device_type: DeviceType) -> &'static str {
    match device_type {
        DeviceType::Microphone => "Microphones",
        DeviceType::Booster => "Boosters",
        DeviceType::Preamp => "Preamps",
        DeviceType::Interface => "Interfaces",
        DeviceType::Converter => "Converters",
        DeviceType::Cable => "Cables",
    }
}

/// What stands in a table of the comparison.
pub(crate) const fn groups(kind: GroupKind) -> &'static str {
    match kind {
        GroupKind::MicrophoneInput => MICROPHONE_INPUTS,
        GroupKind::LineInput => LINE_INPUTS,
        GroupKind::Booster => "Boosters",
        GroupKind::Microphone => "Microphones",
    }
}

/// Leaves the devices of one sort.
pub(crate) const fn only(class: Class) -> &'static str {
    match class {
        Class::Inputs => "Compare only the boxes that have inputs",
        Class::Microphones => "Compare only the microphones",
        Class::Boosters => "Compare only the boosters",
    }
}

/// What the picture of windows shows.
pub(crate) const fn windows(class: Class) -> &'static str {
    match class {
        Class::Inputs => "From noise to ceiling as the gain moves.",
        Class::Microphones => "From own noise to the loudest sound.",
        Class::Boosters => "From noise to ceiling at the input.",
    }
}

/// How many devices there are, or have been found.
pub(crate) fn found(own: usize, built_in: usize, narrowed: bool) -> String {
    let devices = |count: usize| if count == 1 { "1 device".to_owned() } else { format!("{count} devices") };
    match (own, built_in, narrowed) {
        (0, 0, _) => "Nothing fits.".to_owned(),
        (_, _, true) => format!("Found: {} in your folder, {built_in} built in.", devices(own)),
        (_, _, false) => format!("{} in your folder, {built_in} built in.", devices(own)),
    }
}

/// How much is known of a device.
pub(crate) fn known(known: &Known) -> String {
    let counts = [(known.measured, "measured"), (known.stated, "stated"), (known.typical, "typical")];
    let parts: Vec<String> = counts
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, what)| format!("{count} {what}"))
        .collect();
    if parts.is_empty() { "no figures".to_owned() } else { format!("figures: {}", parts.join(", ")) }
}

/// The built-in device from which missing figures come.
pub(crate) fn like(kind: &str) -> String {
    format!("what it does not state is taken from \"{kind}\"")
}

/// That there is no device of a name.
pub(crate) fn no_device(id: &str) -> String {
    format!("There is no device \"{id}\", neither in your folder nor built in.")
}

/// A device in a place that is not for its sort.
pub(crate) fn not_fitting(name: &str, with_article: &str, wanted: Class) -> String {
    let wanted = match wanted {
        Class::Inputs => "a box with inputs",
        Class::Microphones => "a microphone",
        Class::Boosters => "a booster",
    };
    format!("\"{name}\" is {with_article}: choose {wanted} there.")
}

/// Asks whether a device is to be removed.
pub(crate) fn remove(name: &str) -> String {
    format!("Remove {name}?")
}
