//! Small changes to a text, by place.

use super::layout::Layout;
use std::ops::Range;

/// Changes to a text; their places are those of the text before any of them.
#[derive(Debug, Default)]
pub(super) struct Splices(Vec<(Range<usize>, String)>);

impl Splices {
    /// Puts a text in the place of another.
    pub(super) fn replace(&mut self, range: Range<usize>, text: impl Into<String>) {
        self.0.push((range, text.into()));
    }

    /// Takes a part out.
    pub(super) fn cut(&mut self, range: Range<usize>) {
        self.replace(range, "");
    }

    /// Puts a text in between.
    pub(super) fn insert(&mut self, at: usize, text: impl Into<String>) {
        self.replace(at..at, text);
    }

    /// Puts a line, given without its line break, where a line begins or the text ends.
    pub(super) fn insert_line(&mut self, layout: &Layout<'_>, at: usize, line: &str) {
        let line_break = layout.line_break();
        let before = if ends_line(layout, at) { "" } else { line_break };
        self.insert(at, format!("{before}{line}{line_break}"));
    }

    /// Puts lines, the last with its line break, where a line begins or the text ends, with a blank line before and behind.
    pub(super) fn insert_block(&mut self, layout: &Layout<'_>, at: usize, block: &str) {
        let line_break = layout.line_break();
        let mut text = String::new();
        if !ends_line(layout, at) {
            text.push_str(line_break);
        }
        if !layout.is_free_above(at) {
            text.push_str(line_break);
        }
        text.push_str(block);
        if at < layout.text.len() && !layout.is_blank(at) {
            text.push_str(line_break);
        }
        self.insert(at, text);
    }

    /// Takes lines out, and a blank line behind them where one stands before them too.
    pub(super) fn cut_block(&mut self, layout: &Layout<'_>, lines: Range<usize>) {
        let mut end = lines.end;
        if layout.is_free_above(lines.start) && layout.is_blank(end) {
            end = layout.line_end(end);
        }
        self.cut(lines.start..end);
    }

    /// The text with the changes.
    pub(super) fn applied(mut self, text: &str) -> String {
        // Stable, so that what is put in at one place keeps its order.
        self.0.sort_by_key(|(range, _)| range.start);
        let mut result = String::with_capacity(text.len() + 64);
        let mut done = 0;
        for (range, new) in self.0 {
            result.push_str(text.get(done..range.start).unwrap_or(""));
            result.push_str(&new);
            done = range.end.max(done);
        }
        result.push_str(text.get(done..).unwrap_or(""));
        result
    }
}

fn ends_line(layout: &Layout<'_>, at: usize) -> bool {
    at <= layout.begin() || layout.part(0..at).ends_with('\n')
}
