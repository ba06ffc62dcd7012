//! What has been drawn so far, and where its texts stand.

use crate::labels::{cut, width};
use crate::scale::coordinate;
use maud::{Markup, html};

/// A kind of text: its size, weight and family.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Title,
    Answer,
    Stage,
    Tick,
    Name,
    Sub,
    Verdict,
    Sentence,
    Figure,
    Small,
    Tiny,
}

impl Kind {
    const ALL: [Self; 11] = [
        Self::Title,
        Self::Answer,
        Self::Stage,
        Self::Tick,
        Self::Name,
        Self::Sub,
        Self::Verdict,
        Self::Sentence,
        Self::Figure,
        Self::Small,
        Self::Tiny,
    ];

    /// Class, size in px, weight, whether with serifs.
    const fn look(self) -> (&'static str, f64, u32, bool) {
        match self {
            Self::Title => ("title", 25.0, 600, true),
            Self::Answer => ("answer", 16.5, 400, true),
            Self::Stage => ("stage-name", 12.5, 500, false),
            Self::Tick => ("tick", 11.0, 400, false),
            Self::Name => ("name", 16.0, 650, false),
            Self::Sub => ("sub", 13.0, 400, false),
            Self::Verdict => ("verdict", 15.0, 650, false),
            Self::Sentence => ("sentence", 14.5, 400, true),
            Self::Figure => ("figure", 12.5, 600, false),
            Self::Small => ("small", 12.0, 400, false),
            Self::Tiny => ("tiny", 11.0, 400, false),
        }
    }

    pub(crate) const fn size(self) -> f64 {
        self.look().1
    }

    pub(crate) const fn bold(self) -> bool {
        self.look().2 >= 600
    }

    pub(crate) fn width(self, text: &str) -> f64 {
        width(text, self.size(), self.bold())
    }
}

/// The style rules of every kind of text.
pub(crate) fn text_rules() -> String {
    let mut rules = String::new();
    for kind in Kind::ALL {
        let (class, size, weight, serif) = kind.look();
        let size = coordinate(size);
        let family = if serif { ";font-family:'Source Serif 4',serif" } else { "" };
        rules.push_str(&format!(
            ".level-diagram .{class}{{font-size:{size}px;font-weight:{weight}{family}}}\n"
        ));
    }
    rules
}

/// Which end of a text stands at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A text and its place; `y` is its baseline.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Text<'a> {
    pub(crate) kind: Kind,
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) anchor: Anchor,
    pub(crate) content: &'a str,
    /// Further classes.
    pub(crate) class: &'a str,
    /// Room; what is longer is cut, with the whole as its title.
    pub(crate) most: f64,
}

impl<'a> Text<'a> {
    pub(crate) const fn new(kind: Kind, x: f64, y: f64, anchor: Anchor, content: &'a str) -> Self {
        Self { kind, x, y, anchor, content, class: "", most: f64::INFINITY }
    }

    pub(crate) const fn class(self, class: &'a str) -> Self {
        Self { class, ..self }
    }

    pub(crate) const fn most(self, most: f64) -> Self {
        Self { most, ..self }
    }

    /// Its box, as wide as in the widest usual font.
    fn place(&self, shown: &str) -> TextBox {
        let size = self.kind.size();
        let width = self.kind.width(shown);
        let left = match self.anchor {
            Anchor::Start => self.x,
            Anchor::Middle => self.x - width / 2.0,
            Anchor::End => self.x - width,
        };
        TextBox {
            text: shown.to_owned(),
            left,
            right: left + width,
            top: self.y - 0.76 * size,
            bottom: self.y + 0.24 * size,
        }
    }
}

/// One of several texts in a row.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Run<'a> {
    kind: Kind,
    content: &'a str,
    class: &'a str,
}

impl<'a> Run<'a> {
    pub(crate) const fn new(kind: Kind, content: &'a str) -> Self {
        Self { kind, content, class: "" }
    }

    pub(crate) const fn class(self, class: &'a str) -> Self {
        Self { class, ..self }
    }
}

/// Where a text stands in a picture, as wide as in the widest usual font.
#[derive(Debug, Clone, PartialEq)]
pub struct TextBox {
    /// The text.
    pub text: String,
    /// Left edge.
    pub left: f64,
    /// Right edge.
    pub right: f64,
    /// Top edge.
    pub top: f64,
    /// Bottom edge.
    pub bottom: f64,
}

impl TextBox {
    /// By how much two texts cover each other: the lesser of the common width and height; none if they don't.
    #[must_use]
    pub fn overlap(&self, other: &Self) -> Option<f64> {
        let across = self.right.min(other.right) - self.left.max(other.left);
        let down = self.bottom.min(other.bottom) - self.top.max(other.top);
        let least = across.min(down);
        (least > 0.0).then_some(least)
    }
}

/// A picture in the making.
#[derive(Debug, Default)]
pub(crate) struct Sheet {
    body: String,
    boxes: Vec<TextBox>,
    /// Places that optional texts keep clear of.
    obstacles: Vec<TextBox>,
}

impl Sheet {
    pub(crate) fn draw(&mut self, markup: &Markup) {
        self.body.push_str(&markup.0);
        self.body.push('\n');
    }

    /// A path of a class.
    pub(crate) fn path(&mut self, class: &str, d: &str) {
        if !d.is_empty() {
            self.draw(&html! { path class=(class) d=(d) {} });
        }
    }

    pub(crate) fn text(&mut self, text: Text<'_>) {
        let whole = printable(text.content);
        let short = cut(&whole, text.kind.size(), text.kind.bold(), text.most);
        let shown = short.as_deref().unwrap_or(&whole);
        let (class, ..) = text.kind.look();
        let class = if text.class.is_empty() { class.to_owned() } else { format!("{class} {}", text.class) };
        let anchor = match text.anchor {
            Anchor::Start => None,
            Anchor::Middle => Some("middle"),
            Anchor::End => Some("end"),
        };
        self.draw(&html! {
            text class=(class) x=(coordinate(text.x)) y=(coordinate(text.y)) text-anchor=[anchor] {
                (shown)
                @if short.is_some() { title { (whole) } }
            }
        });
        self.boxes.push(text.place(shown));
    }

    /// Texts in one row behind each other. The first may take two fifths of the room; the last is cut where the room ends.
    pub(crate) fn flow(&mut self, runs: &[Run<'_>], left: f64, y: f64, right: f64) {
        const GAP: f64 = 10.0;
        let mut at = left;
        let mut row = Vec::new();
        for (index, run) in runs.iter().enumerate() {
            let whole = printable(run.content);
            let room = if index == 0 { 0.4 * (right - left) } else { right - at };
            let short = cut(&whole, run.kind.size(), run.kind.bold(), room);
            let shown = short.clone().unwrap_or_else(|| whole.clone());
            let text = Text::new(run.kind, at, y, Anchor::Start, &shown);
            self.boxes.push(text.place(&shown));
            at += run.kind.width(&shown) + GAP;
            let class = [run.kind.look().0, run.class].join(" ");
            row.push((class.trim_end().to_owned(), shown, short.map(|_| whole)));
        }
        self.draw(&html! {
            text x=(coordinate(left)) y=(coordinate(y)) {
                @for (index, (class, shown, whole)) in row.iter().enumerate() {
                    tspan class=(class) dx=[(index > 0).then_some("10")] {
                        (shown)
                        @if let Some(whole) = whole { title { (whole) } }
                    }
                }
            }
        });
    }

    /// Whether a text would cover nothing.
    pub(crate) fn is_free(&self, text: &Text<'_>) -> bool {
        let place = text.place(&printable(text.content));
        !self.boxes.iter().chain(&self.obstacles).any(|other| other.overlap(&place).is_some())
    }

    /// Draws a text at the first of several places where it covers nothing; not at all, and false, if there is none.
    pub(crate) fn text_where_free(&mut self, places: &[Text<'_>]) -> bool {
        let free = places.iter().find(|text| self.is_free(text));
        if let Some(free) = free {
            self.text(*free);
        }
        free.is_some()
    }

    /// Something that optional texts must not cover.
    pub(crate) fn obstacle(&mut self, left: f64, top: f64, right: f64, bottom: f64) {
        self.obstacles.push(TextBox { text: String::new(), left, right, top, bottom });
    }

    pub(crate) fn finish(self) -> (String, Vec<TextBox>) {
        (self.body, self.boxes)
    }
}

/// A text without the characters that XML does not allow, and with white space as plain spaces.
pub(crate) fn printable(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_whitespace() && c != '\u{2009}' && c != '\u{a0}' { ' ' } else { c })
        .map(|c| if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') { '\u{fffd}' } else { c })
        // Overrides of direction would turn what stands behind them.
        .filter(|c| !matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'))
        .collect()
}
