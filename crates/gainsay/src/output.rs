//! What goes to the terminal: width, wrapping, tables, styles.

use crate::exit::Failure;
use anstyle::{AnsiColor, Style};
use comfy_table::{
    Cell, CellAlignment, ColumnConstraint, ContentArrangement, LineStyle, Table, TableStyle, Width,
};
use std::io::Write;

/// Text is wrapped at most this wide: about 75 characters read well.
const MEASURE: usize = 78;

/// Titles and what matters most.
pub(crate) const STRONG: Style = Style::new().bold();
/// Side remarks.
pub(crate) const QUIET: Style = Style::new().dimmed();
/// What is tight or short.
pub(crate) const WARNING: Style = Style::new().bold().fg_color(Some(anstyle::Color::Ansi(AnsiColor::Red)));

/// A text in a style; the codes are taken out again where colour is not wanted.
pub(crate) fn styled(style: Style, text: &str) -> String {
    format!("{style}{text}{style:#}")
}

/// Columns of the terminal; `COLUMNS` or 100 where there is none.
pub(crate) fn columns() -> usize {
    let of_terminal = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    let of_environment = || std::env::var("COLUMNS").ok().and_then(|text| text.parse().ok());
    of_terminal.or_else(of_environment).unwrap_or(100).clamp(30, 160)
}

/// Wraps a paragraph, with an indent.
pub(crate) fn paragraph(text: &str, indent: &str) -> String {
    hanging(text, indent, indent)
}

/// Wraps a paragraph whose first line begins differently.
pub(crate) fn hanging(text: &str, first: &str, rest: &str) -> String {
    let options =
        textwrap::Options::new(columns().min(MEASURE)).initial_indent(first).subsequent_indent(rest);
    textwrap::fill(text, options)
}

/// Whether a table fits the terminal; a list takes its place where it does not.
pub(crate) fn fits(table: &str) -> bool {
    table.lines().all(|line| textwrap::core::display_width(line) <= columns())
}

/// A table with a rule under its head, as wide as it needs and no wider than the terminal. `right` names the columns whose
/// entries stand to the right, `whole` those that are not broken over lines.
pub(crate) fn table(head: &[&str], rows: Vec<Vec<String>>, right: &[usize], whole: &[usize]) -> String {
    let mut table = Table::new();
    table.load_style(TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─')));
    table.set_content_arrangement(ContentArrangement::Dynamic);
    table.set_width(u16::try_from(columns()).unwrap_or(100));
    let align = |index: usize, text: String| {
        let alignment = if right.contains(&index) { CellAlignment::Right } else { CellAlignment::Left };
        Cell::new(text).set_alignment(alignment)
    };
    table.set_header(head.iter().enumerate().map(|(i, h)| align(i, (*h).to_owned())));
    for row in rows {
        table.add_row(row.into_iter().enumerate().map(|(i, text)| align(i, text)));
    }
    for (index, column) in table.column_iter_mut().enumerate() {
        column.set_constraint(if whole.contains(&index) {
            ColumnConstraint::ContentWidth
        } else {
            ColumnConstraint::LowerBoundary(Width::Fixed(12))
        });
    }
    table.trim_fmt()
}

/// Writes to standard output. A reader that has gone away is no error.
pub(crate) fn print(text: &str) -> Result<(), Failure> {
    let mut stdout = anstream::stdout().lock();
    let written = stdout
        .write_all(text.as_bytes())
        .and_then(|()| if text.ends_with('\n') { Ok(()) } else { stdout.write_all(b"\n") });
    match written.and_then(|()| stdout.flush()) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Err(Failure::Closed),
        Err(error) => Err(Failure::Output(
            format!("standard output can't be written: {error}"),
            "check where it goes".to_owned(),
        )),
    }
}

/// Writes to standard error, as far as that is possible.
pub(crate) fn error(text: &str) {
    let mut stderr = anstream::stderr().lock();
    // There is nowhere left to tell that this failed.
    let _ = stderr.write_all(text.as_bytes()).and_then(|()| stderr.write_all(b"\n"));
}

/// Writes a file whole or not at all: to a new file beside it, which then takes its name.
pub(crate) fn write_file(path: &std::path::Path, text: &str) -> Result<(), Failure> {
    let fail = |error: std::io::Error| {
        Failure::Output(
            format!("{} can't be written: {error}", path.display()),
            "choose another place".to_owned(),
        )
    };
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    if name.is_empty() {
        return Err(Failure::Output(
            format!("{} does not name a file", path.display()),
            "add a file name".to_owned(),
        ));
    }
    name.push(".part");
    let part = path.with_file_name(name);
    let write = || {
        std::fs::write(&part, text)?;
        std::fs::rename(&part, path)
    };
    write().map_err(|error| {
        let _ = std::fs::remove_file(&part);
        fail(error)
    })
}
