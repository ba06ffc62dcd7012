//! Why a text is no sheet.

pub(crate) fn empty() -> (String, String) {
    ("the text is empty".to_owned(), "paste the specification text of a device".to_owned())
}

/// A line is too long to be one of a specification.
pub(crate) fn long_line(line: usize, longest: usize) -> (String, String) {
    (
        format!("line {line} is longer than {} kB, which no line of a specification is", longest / 1024),
        "break it into lines, or paste the specification alone".to_owned(),
    )
}

pub(crate) fn too_large(most: usize) -> (String, String) {
    (
        format!("the text is too large for a specification sheet: it is larger than {} KiB", most / 1024),
        "paste the pages with the specifications only".to_owned(),
    )
}

pub(crate) fn many_lines(most: usize) -> (String, String) {
    (
        format!("the text has more than {most} lines, which no specification sheet has"),
        "paste the pages with the specifications only".to_owned(),
    )
}

pub(crate) fn document(what: &str) -> (String, String) {
    (
        format!("this is {what}, not text"),
        "open it, select the specifications, copy them, and paste them into a text file".to_owned(),
    )
}

pub(crate) fn zero_byte(line: usize) -> (String, String) {
    (format!("this is not text: line {line} holds a zero byte"), "save it as plain text in UTF-8".to_owned())
}

pub(crate) fn other_encoding(line: usize, column: usize) -> (String, String) {
    (
        format!("this is not UTF-8: line {line}, byte {column} is not valid"),
        "save it as plain text in UTF-8; it may be in an older encoding, such as Latin-1".to_owned(),
    )
}

pub(crate) fn wide_encoding() -> (String, String) {
    ("this is text in UTF-16".to_owned(), "save it as plain text in UTF-8".to_owned())
}

pub(crate) fn nothing(lines: usize) -> (String, String) {
    let lines = if lines == 1 { "1 line".to_owned() } else { format!("{lines} lines") };
    (
        format!("nothing in {lines} reads like the specification of a device"),
        "paste lines such as \"EIN: −128 dBu (A-weighted, 150 Ω)\"; say also what kind of device it is"
            .to_owned(),
    )
}

pub(crate) fn cable() -> (String, String) {
    (
        "cables are not read from sheets".to_owned(),
        "write the two lines of a cable file by hand; `gainsay kinds cables` shows samples".to_owned(),
    )
}
