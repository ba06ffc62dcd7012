//! Words and what they mean: one table for each language, looked up without capitals, accents, hyphens and points.

mod atom;
mod english;
mod fold;
mod french;
mod german;

pub(crate) use atom::{
    Atom, Atoms, CHANNELS, CONNECTORS, FORMATS, KINDS, PATTERNS, PLACES, QUANTITIES, SIDES, TRANSDUCERS,
};
pub(crate) use fold::fold_char;

use std::sync::LazyLock;

/// One line of a table: the words, folded, with `*` at the end where the last word may go on; and what they mean.
type Term = (&'static str, &'static [Atom]);

/// Letters, digits and the space.
const ALPHABET: usize = 37;

#[derive(Clone)]
struct Node {
    next: [u32; ALPHABET],
    /// What the words up to here mean, if they end here.
    whole: Option<Atoms>,
    /// What they mean if the last word goes on.
    begun: Option<Atoms>,
}

impl Node {
    const fn new() -> Self {
        Self { next: [0; ALPHABET], whole: None, begun: None }
    }
}

/// All tables as one tree of letters, so that the longest term is found in one pass.
struct Tree(Vec<Node>);

static TREE: LazyLock<Tree> = LazyLock::new(|| {
    let mut tree = Tree(vec![Node::new()]);
    let tables = [english::TABLES, german::TABLES, french::TABLES];
    for (words, atoms) in tables.into_iter().flatten().copied().flatten() {
        tree.insert(words, Atoms::of(atoms));
    }
    tree
});

/// Whether a character is part of a word; a raised digit behind a word refers to a footnote.
pub(crate) fn in_word(c: char) -> bool {
    c.is_alphanumeric() && crate::scan::raised(c).is_none()
}

fn letter(folded: u8) -> Option<usize> {
    match folded {
        b'a'..=b'z' => Some(usize::from(folded - b'a')),
        b'0'..=b'9' => Some(26 + usize::from(folded - b'0')),
        b' ' => Some(36),
        _ => None,
    }
}

impl Tree {
    fn insert(&mut self, words: &str, atoms: Atoms) {
        let (stem, open) = words.strip_suffix('*').map_or((words, false), |stem| (stem, true));
        let mut at = 0;
        for index in stem.bytes().filter_map(letter) {
            let known = self.0.get(at).and_then(|node| node.next.get(index)).copied().unwrap_or(0);
            let next = if known == 0 {
                self.0.push(Node::new());
                let new = self.0.len() - 1;
                if let Some(place) = self.0.get_mut(at).and_then(|node| node.next.get_mut(index)) {
                    *place = u32::try_from(new).unwrap_or(0);
                }
                new
            } else {
                known as usize
            };
            at = next;
        }
        if let Some(node) = self.0.get_mut(at) {
            let place = if open { &mut node.begun } else { &mut node.whole };
            *place = Some(place.unwrap_or_default().and(atoms));
        }
    }
}

/// The longest term at the beginning of a text that begins with a letter or digit: how many bytes it takes, and its meaning.
pub(crate) fn longest_term(text: &str) -> Option<(usize, Atoms)> {
    let mut at = 0_usize;
    let mut best = None;
    let mut begun: Option<Atoms> = None;
    let mut chars = text.char_indices().peekable();
    let mut last_was_space = false;
    while let Some((offset, c)) = chars.next() {
        let end = offset + c.len_utf8();
        let ends_word = chars.peek().is_none_or(|(_, next)| !in_word(*next));
        let joins = matches!(
            c,
            ' ' | '\n'
                | '\r'
                | '"'
                | '″'
                | '”'
                | '-'
                | '.'
                | '\''
                | '’'
                | '/'
                | '‐'
                | '‑'
                | '\u{a0}'
                | '\u{202f}'
                | '_'
                | '+'
        );
        for folded in fold_char(c).into_iter().flatten() {
            if folded == b' ' && last_was_space {
                continue;
            }
            last_was_space = folded == b' ';
            let Some(index) = letter(folded) else { return finish(text, best, begun, offset) };
            let next = TREE.0.get(at).and_then(|node| node.next.get(index)).copied().unwrap_or(0);
            if next == 0 {
                return finish(text, best, begun, offset);
            }
            at = next as usize;
        }
        if !joins && !in_word(c) {
            return finish(text, best, begun, offset);
        }
        if last_was_space {
            begun = None;
            continue;
        }
        let Some(node) = TREE.0.get(at) else { break };
        if node.begun.is_some() {
            begun = node.begun;
        }
        if ends_word {
            if let Some(atoms) = node.whole.or(begun) {
                best = Some((end, atoms));
            }
            begun = None;
        }
    }
    best
}

/// Where the walk through the tree stopped inside a word whose beginning has a meaning, the whole word has it.
fn finish(
    text: &str,
    best: Option<(usize, Atoms)>,
    begun: Option<Atoms>,
    offset: usize,
) -> Option<(usize, Atoms)> {
    let Some(atoms) = begun else { return best };
    let rest = text.get(offset..).unwrap_or_default();
    let length: usize = rest.chars().take_while(|c| in_word(*c)).map(char::len_utf8).sum();
    Some((offset + length, atoms))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_longest_term_wins_in_every_language() {
        for (text, want, bytes) in [
            ("Equivalent input noise (EIN)", Atom::Ein, 22),
            ("Eingangsimpedanz 3 kΩ", Atom::Impedance, 16),
            ("Ersatzgeräuschpegel, A", Atom::SelfNoise, 20),
            ("impédance d’entrée", Atom::Impedance, 22),
            ("Mikrofoneingängen", Atom::Microphone, 18),
            ("A-wtd.", Atom::WeightA, 5),
            ("dynamic range: 3", Atom::Dynamic, 13),
        ] {
            let (length, atoms) = longest_term(text).unwrap_or_else(|| panic!("nothing known in {text:?}"));
            assert!(atoms.has(want), "{text:?} means {atoms:?}, not {want:?}");
            assert_eq!(length, bytes, "bytes of {text:?}");
        }
        assert_eq!(longest_term("zzz"), None);
        assert_eq!(longest_term("inputting"), None);
    }
}
