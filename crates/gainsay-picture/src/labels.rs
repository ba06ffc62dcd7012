//! How wide texts are, how they are cut and broken, and how labels are spread so that none covers another.

/// Advance widths of the printable ASCII characters from the space on, in hundredths of the size: those of DejaVu Sans, the
/// widest of the usual fallbacks, so that what has room here has room in every font.
const WIDTHS: [u8; 95] = [
    32, 40, 46, 84, 64, 95, 78, 27, 39, 39, 50, 84, 32, 36, 32, 34, 64, 64, 64, 64, 64, 64, 64, 64, 64, 64,
    34, 34, 84, 84, 84, 53, 100, 68, 69, 70, 77, 63, 58, 77, 75, 29, 29, 66, 56, 86, 75, 79, 60, 79, 69, 63,
    61, 73, 68, 99, 69, 61, 69, 39, 34, 39, 84, 50, 50, 61, 63, 55, 63, 62, 35, 63, 63, 28, 28, 58, 28, 97,
    63, 61, 63, 63, 41, 52, 39, 63, 59, 82, 59, 59, 52, 64, 34, 64, 84,
];

/// Bold letters are this much wider.
const BOLD: f64 = 1.12;

/// Width of a character in sizes.
fn advance(character: char) -> f64 {
    let code = u32::from(character);
    if let Some(width) = code.checked_sub(32).and_then(|at| WIDTHS.get(at as usize)) {
        return f64::from(*width) / 100.0;
    }
    match code {
        // Marks that stand on or join other characters.
        0x300..=0x36f | 0x200b..=0x200f | 0x202a..=0x202e | 0x2060..=0x2069 | 0xfe00..=0xfe0f => 0.0,
        0x2009 | 0x202f => 0.2,
        0x2018 | 0x2019 | 0xb7 => 0.32,
        0x2013 => 0.5,
        0x2212 | 0x2192 => 0.84,
        0x2026 => 1.0,
        // Letters of the European and near-eastern scripts.
        0xa0..=0x10ff => 0.75,
        0x1f00..=0x1fff => 0.75,
        // Han, kana, hangul, emoji.
        _ => 1.35,
    }
}

/// Width of a text of a size in px.
pub(crate) fn width(text: &str, size: f64, bold: bool) -> f64 {
    let sizes: f64 = text.chars().map(advance).sum();
    sizes * size * if bold { BOLD } else { 1.0 }
}

/// The text, or as much of its beginning as has room, with an ellipsis.
pub(crate) fn cut(text: &str, size: f64, bold: bool, most: f64) -> Option<String> {
    if width(text, size, bold) <= most {
        return None;
    }
    let room = most - width("…", size, bold);
    let mut kept = String::new();
    let mut used = 0.0;
    for character in text.chars() {
        used += width(character.encode_utf8(&mut [0; 4]), size, bold);
        if used > room {
            break;
        }
        kept.push(character);
    }
    // Neither a joiner nor a space before the ellipsis.
    let kept =
        kept.trim_end_matches(|c: char| c.is_whitespace() || matches!(c, '\u{200d}' | ',' | ';' | ':'));
    Some(format!("{kept}…"))
}

/// Breaks a text into lines at its plain spaces, not between a number and its unit. What does not fit into the last line is cut there.
pub(crate) fn lines(text: &str, size: f64, bold: bool, most: f64, most_lines: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        let full = lines.len() + 1 >= most_lines;
        if !line.is_empty() && !full && width(&longer, size, bold) > most {
            lines.push(std::mem::replace(&mut line, word.to_owned()));
        } else {
            line = longer;
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// Spreads labels along an axis: each as near as possible to where it wants its centre (least squares), in the given order,
/// none nearer to the next than their heights ask, all between `low` and `high` as far as there is room.
pub(crate) fn spread(wanted: &[(f64, f64)], low: f64, high: f64) -> Vec<f64> {
    struct Block {
        /// Sum of the wanted starts of the block, each less its offset in the block.
        sum: f64,
        count: f64,
        height: f64,
        members: usize,
    }
    let start_of = |block: &Block| (block.sum / block.count).min(high - block.height).max(low);
    let mut blocks: Vec<Block> = Vec::new();
    for (centre, height) in wanted {
        let mut block = Block { sum: centre - height / 2.0, count: 1.0, height: *height, members: 1 };
        while let Some(before) = blocks.pop() {
            if start_of(&before) + before.height <= start_of(&block) {
                blocks.push(before);
                break;
            }
            block = Block {
                sum: before.sum + block.sum - block.count * before.height,
                count: before.count + block.count,
                height: before.height + block.height,
                members: before.members + block.members,
            };
        }
        blocks.push(block);
    }
    let mut centres = Vec::with_capacity(wanted.len());
    let mut heights = wanted.iter().map(|(_, height)| *height);
    for block in &blocks {
        let mut at = start_of(block);
        for height in heights.by_ref().take(block.members) {
            centres.push(at + height / 2.0);
            at += height;
        }
    }
    centres
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_with_room_stay_where_they_want_to_be() {
        let centres = spread(&[(20.0, 10.0), (50.0, 10.0), (90.0, 10.0)], 0.0, 100.0);
        for (is, should) in centres.iter().zip([20.0, 50.0, 90.0]) {
            assert!((is - should).abs() < 1e-9, "{is} instead of {should}");
        }
    }

    #[test]
    fn crowded_labels_share_the_way() {
        let centres = spread(&[(50.0, 10.0), (50.0, 10.0)], 0.0, 100.0);
        for (is, should) in centres.iter().zip([45.0, 55.0]) {
            assert!((is - should).abs() < 1e-9, "{is} instead of {should}");
        }
    }

    #[test]
    fn spread_labels_never_overlap_and_stay_inside() {
        // A fixed sequence without order, of the usual kind for such tests.
        let mut state = 1_u64;
        let mut next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as f64 / (1 << 24) as f64
        };
        for _ in 0..2000 {
            let mut wanted: Vec<(f64, f64)> =
                (0..8).map(|_| (300.0 * next() - 50.0, 8.0 + 8.0 * next())).collect();
            wanted.sort_by(|a, b| a.0.total_cmp(&b.0));
            let centres = spread(&wanted, 0.0, 200.0);
            let edges: Vec<(f64, f64)> =
                centres.iter().zip(&wanted).map(|(c, (_, h))| (c - h / 2.0, c + h / 2.0)).collect();
            for pair in edges.windows(2) {
                let over = pair[0].1 - pair[1].0;
                assert!(over < 1e-9, "labels overlap by {over} in {wanted:?}");
            }
            let (first, last) = (edges[0].0, edges[7].1);
            assert!(
                first > -1e-9 && last < 200.0 + 1e-9,
                "labels reach from {first} to {last} in {wanted:?}"
            );
        }
    }

    #[test]
    fn long_texts_are_cut() {
        let text = "a".repeat(100);
        let short = cut(&text, 10.0, false, 200.0).unwrap();
        let is = width(&short, 10.0, false);
        assert!(short.ends_with('…') && is <= 200.0, "{short} is {is} wide");
        assert_eq!(cut("abc", 10.0, false, 200.0), None);
    }

    #[test]
    fn texts_are_broken_at_spaces() {
        let broken = lines("one two three four five", 10.0, false, 60.0, 3);
        assert_eq!(broken, ["one two", "three four", "five"]);
        let full = lines("one two three four five", 10.0, false, 60.0, 2);
        assert_eq!(full, ["one two", "three four five"]);
        let unit = lines("limit −40\u{2009}dBu", 10.0, false, 60.0, 3);
        assert_eq!(unit, ["limit", "−40\u{2009}dBu"]);
    }
}
