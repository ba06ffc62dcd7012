//! The page: the text, what was read from it, and what there is to doubt.

use super::super::super::problems;
use super::KINDS;
use super::typed::{Typed, key};
use crate::layout::{self, Part};
use crate::words::{self, capital};
use gainsay_folder::LoadError;
use gainsay_folder::folder::FileName;
use gainsay_sheet::{Candidate, Doubt, Entry, NotTaken, Path, Question, Reading, Unplaced, Why};
use maud::{Markup, html};

/// Why something was not done.
pub(super) enum Wrong {
    /// A sentence, and how to mend it.
    Text(String, String),
    /// A correction that its field can't hold.
    Field(Path, NotTaken),
    /// The device file would be wrong.
    File(LoadError),
    /// The name is taken.
    Taken,
}

impl Wrong {
    pub(super) fn text(message: &str, mend: &str) -> Self {
        Self::Text(message.to_owned(), mend.to_owned())
    }
}

pub(super) fn page(typed: &Typed, reading: Option<&Reading>, wrong: Option<&Wrong>) -> Markup {
    let rows = if reading.is_some() { "8" } else { "18" };
    let content = html! {
        p.above { a href="/gear" { (words::GEAR) } }
        h1 { (words::PASTE_SHEET) }
        @if let Some(wrong) = wrong { div role="alert" { (not_done(wrong)) } }
        @if reading.is_none() { p { (words::PASTE_HOW) } }
        form.text-form.sheet action="/gear/sheet" method="post" {
            p {
                label for="sheet-text" { (words::SHEET_TEXT) }
                textarea #sheet-text name="text" rows=(rows) spellcheck="false" autocomplete="off" { "\n" (typed.text) }
            }
            p.buttons {
                label for="sheet-kind" { (words::SHEET_KIND) }
                select #sheet-kind name="kind" {
                    option value="" selected[typed.kind.is_none()] { (words::TEXT_DECIDES) }
                    @for (name, kind) in KINDS { option value=(name) selected[typed.kind == Some(kind)] { (name) } }
                }
                button type="submit" name="do" value="read" { (words::READ_SHEET) @if reading.is_some() { " " (words::AGAIN) } }
            }
            @if let Some(reading) = reading { (read(typed, reading)) }
        }
    };
    layout::page(Part::Gear, words::PASTE_SHEET, &content)
}

fn not_done(wrong: &Wrong) -> Markup {
    match wrong {
        Wrong::File(error) => html! { p.warn { (words::NOT_KEPT) } (problems(error)) },
        Wrong::Taken => html! { p.warn { (words::NAME_TAKEN) " " (words::ANOTHER_NAME) } },
        Wrong::Field(path, wrong) => html! {
            section.problem {
                p { strong { (heading(path)) ", " (path.field.replace('_', " ")) } ": " (wrong.message) "." }
                p.quiet { (capital(&wrong.mend)) "." }
            }
        },
        Wrong::Text(message, mend) => html! {
            section.problem {
                p { (capital(message)) "." }
                @if !mend.is_empty() { p.quiet { (capital(mend)) "." } }
            }
        },
    }
}

fn read(typed: &Typed, reading: &Reading) -> Markup {
    let file = FileName::from_title(&reading.name).map(|name| name.stem().to_owned()).unwrap_or_default();
    let about: Vec<&Doubt> = reading.doubts.iter().filter(|doubt| !has_entry(reading, doubt)).collect();
    html! {
        section {
            h2 { (words::as_read(reading.device_type.with_article())) }
            @for (number, question) in reading.questions.iter().enumerate() { (self::question(number, question)) }
            p { (words::LOOK_IT_OVER) }
            @if !about.is_empty() { ul.doubts { @for doubt in about { li { (self::doubt(doubt)) } } } }
        }
        @for (at, (path, entries)) in groups(reading).iter().enumerate() {
            section {
                h3 { (heading(path)) }
                @for (number, entry) in entries.iter().enumerate() { (figure(typed, reading, entry, &format!("f{at}-{number}"))) }
            }
        }
        (not_placed(reading))
        section {
            h2 { (words::KEEP_IT) }
            div.fields { div.grid {
                p.entry {
                    label for="device-name" { (words::DEVICE_NAME) }
                    input #device-name type="text" name="name" value=(reading.name) maxlength="200" autocomplete="off";
                }
                p.entry {
                    label for="device-file" { (words::NAME_IT) }
                    input #device-file type="text" name="file" value=(typed.file) placeholder=(file) maxlength="69" autocomplete="off"
                        aria-describedby="device-file-hint";
                    span.hint #device-file-hint { (words::FILE_NAME_HINT) }
                }
            } }
            p.buttons { button type="submit" name="do" value="keep" { (words::KEEP_DEVICE) } a href="/gear/sheet" { (words::LET_IT_BE) } }
        }
    }
}

/// The entries by their tables, as the file has them.
fn groups(reading: &Reading) -> Vec<(&Path, Vec<&Entry>)> {
    let mut groups: Vec<(&Path, Vec<&Entry>)> = Vec::new();
    for entry in &reading.entries {
        match groups.last_mut() {
            Some((path, entries)) if path.table == entry.path.table && path.group == entry.path.group => {
                entries.push(entry);
            }
            _ => groups.push((&entry.path, vec![entry])),
        }
    }
    groups
}

fn heading(path: &Path) -> String {
    let table = capital(&path.table.name().replace('_', " "));
    if path.group.is_empty() { table } else { format!("{table}: {}", path.group) }
}

/// A question of the text's: which reading is meant.
fn question(number: usize, question: &Question) -> Markup {
    let id = format!("ask-{number}");
    html! {
        p.buttons {
            label for=(id) { (question.sentence) }
            select #(id) name={ "ask " (key(&question.about)) } {
                @for (index, choice) in question.choices.iter().enumerate() {
                    option value=(index) selected[index == question.chosen] { (choice) }
                }
            }
        }
    }
}

/// A figure in its field, with the words that it was read from, and what there is to doubt about it.
fn figure(typed: &Typed, reading: &Reading, entry: &Entry, id: &str) -> Markup {
    let path = entry.path.to_string();
    let label = entry.path.field.replace('_', " ");
    let doubts = reading.doubts.iter().filter(|doubt| doubt.field.as_ref() == Some(&path));
    html! {
        div.read {
            p.tick {
                input type="checkbox" name={ "use " (path) } value="yes" checked[typed.is_used(entry)] aria-label={ "Use " (label) };
                label for=(id) { (label) }
            }
            div.what {
                input type="hidden" name={ "was " (path) } value=(entry.reading.value.to_string());
                input #(id) type="text" name={ "value " (path) } value=(typed.value(entry)) maxlength="200" autocomplete="off"
                    aria-describedby={ (id) "-from" };
                div.from #{ (id) "-from" } {
                    (from(&entry.reading))
                    @if entry.withheld && !typed.is_used(entry) { p.warn { (words::LEFT_OUT) } }
                    @for other in &entry.others { p { (words::OR_IT_IS) " " (other.value.to_string()) ": " (said(other)) } }
                    @for doubt in doubts { p.doubt { (self::doubt(doubt)) } }
                }
            }
        }
    }
}

fn from(reading: &Candidate) -> Markup {
    html! {
        p.quiet {
            @if reading.words.is_empty() { (reading.how.as_deref().unwrap_or(words::NOT_SAID)) }
            @else { "Line " (reading.line) ": " (said(reading)) }
        }
    }
}

fn said(reading: &Candidate) -> Markup {
    html! { "“" (reading.words.trim()) "”" @if let Some(how) = &reading.how { " (" (how) ")" } }
}

/// A doubt in plain words, with the standard behind it.
fn doubt(doubt: &Doubt) -> Markup {
    html! {
        span.mark aria-hidden="true" { "? " }
        @if let Some(line) = doubt.line { "Line " (line) ": " }
        (doubt.sentence) " " span.quiet { "(" (doubt.standard()) ")" }
    }
}

/// Whether a doubt stands beside a figure of the page.
fn has_entry(reading: &Reading, doubt: &Doubt) -> bool {
    doubt.field.as_ref().is_some_and(|field| reading.entries.iter().any(|e| e.path.to_string() == *field))
}

fn not_placed(reading: &Reading) -> Markup {
    let of = |unknown: bool| {
        let fits = move |unplaced: &&Unplaced| matches!(unplaced.why, Why::NotUnderstood(_)) == unknown;
        reading.unplaced.iter().filter(fits).collect::<Vec<_>>()
    };
    let (unknown, known) = (of(true), of(false));
    html! {
        @if !unknown.is_empty() { section { h2 { (words::NOT_UNDERSTOOD) } (lines(&unknown)) } }
        @if !known.is_empty() { details { summary { (words::NO_FIELD_FOR_IT) } (lines(&known)) } }
    }
}

fn lines(all: &[&Unplaced]) -> Markup {
    html! {
        ul {
            @for unplaced in all {
                @let (Why::NoField(what) | Why::NotUnderstood(what)) = unplaced.why;
                li { "Line " (unplaced.line) ": “" (unplaced.words.trim()) "” " span.quiet { "(" (what) ")" } }
            }
        }
    }
}
