//! One spelling for letters that differ by case and accent only.

/// The letter without case and accent, as one or two ASCII bytes; nothing for a character that no term holds.
pub(crate) fn fold_char(c: char) -> [Option<u8>; 2] {
    let one = |byte: u8| [Some(byte), None];
    match c {
        'a'..='z' | '0'..='9' => one(c as u8),
        'A'..='Z' => one(c.to_ascii_lowercase() as u8),
        'á' | 'à' | 'â' | 'ä' | 'ã' | 'å' | 'Á' | 'À' | 'Â' | 'Ä' | 'Ã' | 'Å' => one(b'a'),
        'é' | 'è' | 'ê' | 'ë' | 'É' | 'È' | 'Ê' | 'Ë' => one(b'e'),
        'í' | 'ì' | 'î' | 'ï' | 'Í' | 'Ì' | 'Î' | 'Ï' => one(b'i'),
        'ó' | 'ò' | 'ô' | 'ö' | 'õ' | 'Ó' | 'Ò' | 'Ô' | 'Ö' | 'Õ' => one(b'o'),
        'ú' | 'ù' | 'û' | 'ü' | 'Ú' | 'Ù' | 'Û' | 'Ü' => one(b'u'),
        'ç' | 'Ç' => one(b'c'),
        'ñ' | 'Ñ' => one(b'n'),
        'ß' => [Some(b's'), Some(b's')],
        'æ' | 'Æ' => [Some(b'a'), Some(b'e')],
        'œ' | 'Œ' => [Some(b'o'), Some(b'e')],
        'ﬁ' => [Some(b'f'), Some(b'i')],
        'ﬂ' => [Some(b'f'), Some(b'l')],
        ' ' | '\n' | '\r' | '"' | '″' | '”' | '-' | '.' | '\'' | '’' | '/' | '‐' | '‑' | '\u{a0}'
        | '\u{202f}' | '_' | '+' => one(b' '),
        _ => [Some(0), None],
    }
}
