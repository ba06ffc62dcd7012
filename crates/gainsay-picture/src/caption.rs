//! Name, verdict and chain of a source beside its lane.

use crate::labels::lines;
use crate::scale::coordinate;
use crate::sheet::{Anchor, Kind, Run, Sheet, Text};
use crate::words;
use gainsay_plan::SourceAnswer;
use maud::html;

/// The mark of a verdict, its box's left edge at `x`, on a baseline.
fn mark(sheet: &mut Sheet, source: &SourceAnswer, x: f64, baseline: f64) {
    let (class, d) = words::mark(source);
    let place = format!("translate({} {})", coordinate(x), coordinate(baseline - 10.5));
    sheet.draw(&html! { path class=(class) transform=(place) d=(d) {} });
}

/// Of a lane with room: name and chain in one row, verdict and sentence in the next. Returns the height.
pub(crate) fn wide(sheet: &mut Sheet, source: &SourceAnswer, left: f64, top: f64, right: f64) -> f64 {
    let chain = words::chain(source);
    let row = [Run::new(Kind::Name, &source.name), Run::new(Kind::Sub, &chain).class("quiet")];
    sheet.flow(&row, left, top + 15.0, right);
    mark(sheet, source, left, top + 37.0);
    let row = [
        Run::new(Kind::Verdict, words::verdict(source)).class(words::verdict_class(source)),
        Run::new(Kind::Sentence, &source.sentence),
    ];
    sheet.flow(&row, left + 18.0, top + 37.0, right);
    44.0
}

/// Of a compact lane: name, verdict and sentence in one row, the chain in small letters below. Returns the height.
pub(crate) fn compact(sheet: &mut Sheet, source: &SourceAnswer, left: f64, top: f64, right: f64) -> f64 {
    let row = [
        Run::new(Kind::Name, &source.name),
        Run::new(Kind::Verdict, words::verdict(source)).class(words::verdict_class(source)),
        Run::new(Kind::Sentence, &source.sentence),
    ];
    mark(sheet, source, left, top + 14.0);
    sheet.flow(&row, left + 18.0, top + 14.0, right);
    let chain = words::chain(source);
    let text = Text::new(Kind::Tiny, left + 18.0, top + 29.0, Anchor::Start, &chain);
    sheet.text(text.class("quiet").most(right - left - 18.0));
    32.0
}

/// Of a narrow lane: everything in rows. Returns the height.
pub(crate) fn narrow(sheet: &mut Sheet, source: &SourceAnswer, left: f64, top: f64, right: f64) -> f64 {
    let room = right - left;
    let mut y = top + 15.0;
    sheet.text(Text::new(Kind::Name, left, y, Anchor::Start, &source.name).most(room));
    mark(sheet, source, left, y + 21.0);
    y += 21.0;
    let word = words::verdict(source);
    sheet.text(
        Text::new(Kind::Verdict, left + 18.0, y, Anchor::Start, word).class(words::verdict_class(source)),
    );
    let sentence = Kind::Sentence;
    for line in lines(&source.sentence, sentence.size(), sentence.bold(), room, 5) {
        y += 18.0;
        sheet.text(Text::new(sentence, left, y, Anchor::Start, &line).most(room));
    }
    y += 3.0;
    let kind = Kind::Small;
    for line in lines(&words::chain(source), kind.size(), kind.bold(), room, 4) {
        y += 15.0;
        sheet.text(Text::new(kind, left, y, Anchor::Start, &line).class("quiet").most(room));
    }
    y - top + 6.0
}
