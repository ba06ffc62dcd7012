//! Files made up at random, with comments of which it is known what they belong to.

/// SplitMix64 (Steele, Lea and Flood 2014).
pub(crate) struct Random(pub(crate) u64);

impl Random {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }

    pub(crate) fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    pub(crate) fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.below(of.len())]
    }
}

/// A comment and the path of what it goes with when that is removed; nothing if it always stays.
pub(crate) struct Comment {
    pub(crate) text: String,
    pub(crate) of: Option<String>,
}

pub(crate) struct Made {
    pub(crate) text: String,
    pub(crate) comments: Vec<Comment>,
}

pub(crate) const KEYS: &[&str] = &["name", "distance", "ein", "price", "turns", "keep", "label", "count"];
const SCALARS: &[&str] = &[
    "\"0.5 m\"",
    "'a # b'",
    "\"say \\\"x\\\" # no\"",
    "12",
    "-3.5",
    "true",
    "\"\"\"two\nlines # no\"\"\"",
    "'''\nraw ' # no'''",
    "\"3 kΩ\"",
    "\"\"",
];

struct Maker<'a> {
    random: &'a mut Random,
    text: String,
    comments: Vec<Comment>,
}

/// A file.
pub(crate) fn made(random: &mut Random) -> Made {
    let crlf = random.chance(15);
    let bom = random.chance(5);
    let cut_end = random.chance(15);
    let mut maker = Maker { random, text: String::new(), comments: Vec::new() };
    maker.file();
    let Maker { mut text, comments, .. } = maker;
    if cut_end {
        text = text.trim_end_matches('\n').to_owned();
    }
    if crlf {
        text = text.replace('\n', "\r\n");
    }
    if bom {
        text.insert(0, '\u{feff}');
    }
    Made { text, comments }
}

impl Maker<'_> {
    fn comment(&mut self, of: Option<&str>) -> String {
        let text = format!("# note-{}-", self.comments.len());
        self.comments.push(Comment { text: text.clone(), of: of.map(str::to_owned) });
        text
    }

    fn file(&mut self) {
        if self.random.chance(40) {
            let comment = self.comment(None);
            self.text.push_str(&format!("{comment}\n"));
            self.blank(60);
        }
        let fields = self.random.below(4);
        self.fields("", fields, "");
        let (mut sources, mut options) = (0, 0);
        let mut left = vec!["room", "session"];
        for _ in 0..self.random.below(8) {
            self.blank(80);
            if self.random.chance(25) {
                let comment = self.comment(None);
                self.text.push_str(&format!("{comment}\n"));
                self.blank(30);
            }
            match self.random.below(10) {
                0..5 => {
                    self.header("[[source]]", &format!("source[{sources}]"));
                    sources += 1;
                }
                5..7 => {
                    self.header("[[option]]", &format!("option[{options}]"));
                    options += 1;
                }
                _ => {
                    if let Some(name) = left.pop() {
                        self.header(&format!("[{name}]"), name);
                    }
                }
            }
        }
        self.blank(20);
        if self.random.chance(20) {
            let comment = self.comment(None);
            self.text.push_str(&comment);
            self.text.push('\n');
        }
    }

    fn blank(&mut self, percent: usize) {
        if self.random.chance(percent) {
            self.text.push('\n');
        }
    }

    fn header(&mut self, header: &str, path: &str) {
        let indent = *self.random.pick(&["", "", "", "  "]);
        self.text.push_str(indent);
        self.text.push_str(header);
        if self.random.chance(15) {
            let comment = self.comment(Some(path));
            self.text.push_str(&format!("  {comment}"));
        }
        self.text.push('\n');
        let fields = self.random.below(6);
        self.fields(path, fields, indent);
        if self.random.chance(15) {
            let name = path.split('[').next().unwrap_or("");
            self.blank(50);
            self.text.push_str(&format!("{indent}[{name}.input]\n"));
            let fields = self.random.below(3);
            self.fields(&format!("{path}.input"), fields, indent);
        } else if self.random.chance(10) {
            self.text.push_str(&format!("{indent}input.number = 3\n"));
            if self.random.chance(50) {
                let comment = self.comment(Some(&format!("{path}.input.device")));
                self.text.push_str(&format!("{indent}input.device = \"box\" {comment}\n"));
            }
        }
    }

    fn fields(&mut self, table: &str, count: usize, indent: &str) {
        let mut keys: Vec<&str> = KEYS.to_vec();
        for index in 0..count {
            let key = keys.remove(self.random.below(keys.len()));
            let path = if table.is_empty() { key.to_owned() } else { format!("{table}.{key}") };
            // A comment on a line of its own between two fields goes with the table, not with the field below it.
            if index > 0 && self.random.chance(8) && !table.is_empty() {
                let comment = self.comment(Some(table));
                self.text.push_str(&format!("{indent}{comment}\n"));
            }
            let value = self.value(&path);
            self.text.push_str(&format!("{indent}{key} = {value}"));
            if self.random.chance(15) {
                let comment = self.comment(Some(&path));
                self.text.push_str(&format!(" {comment}"));
            }
            self.text.push('\n');
        }
    }

    fn value(&mut self, path: &str) -> String {
        match self.random.below(10) {
            0 | 1 => {
                let value = *self.random.pick(&SCALARS[..6]);
                let note = *self.random.pick(SCALARS);
                format!("{{ value = {value}, from = \"measured\", note = {note} }}")
            }
            2 => "{ device = \"box\", number = 2 }".to_owned(),
            3 => self.list(path),
            4 if self.random.chance(30) => "[{ device = \"a\" }, { device = \"b\", count = 2 }]".to_owned(),
            4 if self.random.chance(50) => "{}".to_owned(),
            _ => (*self.random.pick(SCALARS)).to_owned(),
        }
    }

    /// A list on one line or on several, with comments, with or without a comma at the end.
    fn list(&mut self, path: &str) -> String {
        let count = self.random.below(4);
        let comma = if count > 0 && self.random.chance(40) { "," } else { "" };
        let words: Vec<&str> =
            (0..count).map(|_| *self.random.pick(&["\"a\"", "\"b\"", "'c'", "\"d\"", "5"])).collect();
        if self.random.chance(50) {
            return format!("[{}{comma}]", words.join(", "));
        }
        let mut text = "[\n".to_owned();
        for (index, word) in words.iter().enumerate() {
            let comma = if index + 1 < count { "," } else { comma };
            text.push_str(&format!("  {word}{comma}"));
            if self.random.chance(30) {
                text.push_str(&format!(" {}", self.comment(Some(path))));
            }
            text.push('\n');
        }
        text.push(']');
        text
    }
}
