//! Cyrillic letters that look like Latin ones: the reader gives the Latin ones, and the letters beside them tell which are meant.

/// Each with the Latin letter that it is read as. As `LOOKALIKES` of `scripts/label/lines.py`.
const LOOKALIKES: &[(char, char)] = &[
    ('А', 'A'),
    ('В', 'B'),
    ('Е', 'E'),
    ('К', 'K'),
    ('М', 'M'),
    ('Н', 'H'),
    ('О', 'O'),
    ('Р', 'P'),
    ('С', 'C'),
    ('Т', 'T'),
    ('Х', 'X'),
    ('І', 'I'),
    ('Ї', 'Ï'),
    ('Ј', 'J'),
    ('Ё', 'Ë'),
    ('а', 'a'),
    ('е', 'e'),
    ('о', 'o'),
    ('р', 'p'),
    ('с', 'c'),
    ('у', 'y'),
    ('х', 'x'),
    ('і', 'i'),
    ('ї', 'ï'),
    ('ј', 'j'),
    ('ё', 'ë'),
];

/// A text as printed, of one that was read: words that hold a letter of Cyrillic alone are Cyrillic all through.
pub(super) fn restored(text: &str) -> String {
    if !text.contains(is_cyrillic) {
        return text.to_owned();
    }
    let in_word = |c: char| c.is_alphabetic();
    let mut restored = String::with_capacity(2 * text.len());
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let end = rest.find(|c| in_word(c) != in_word(first)).unwrap_or(rest.len());
        let (run, after) = rest.split_at(end);
        if run.contains(is_cyrillic) {
            restored.extend(run.chars().map(cyrillic_of));
        } else {
            restored.push_str(run);
        }
        rest = after;
    }
    restored
}

/// A text in the letters that the reader gives for it.
pub(super) fn folded(text: &str) -> String {
    text.chars().map(|c| LOOKALIKES.iter().find(|(cyrillic, _)| *cyrillic == c).map_or(c, |(_, latin)| *latin)).collect()
}

pub(super) fn is_cyrillic(c: char) -> bool {
    ('\u{400}'..='\u{4ff}').contains(&c)
}

/// The Cyrillic letter that looks like a Latin one; other characters as they are.
fn cyrillic_of(c: char) -> char {
    LOOKALIKES.iter().find(|(_, latin)| *latin == c).map_or(c, |(cyrillic, _)| *cyrillic)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_with_a_cyrillic_letter_are_cyrillic_all_through() {
        // As the reader gives them, with Latin letters where those look alike.
        assert_eq!(restored("Зaдaчa 232"), "Задача 232");
        assert_eq!(restored("Cyдoкy №4"), "Судоку №4");
        assert_eq!(restored("Cyдoкy B-4"), "Судоку B-4");
        assert_eq!(restored("П’ятниця"), "П’ятниця");
        assert_eq!(restored("Cover 12"), "Cover 12");
    }

    #[test]
    fn each_lookalike_is_of_both_alphabets() {
        assert!(LOOKALIKES.iter().all(|(cyrillic, latin)| is_cyrillic(*cyrillic) && latin.is_alphabetic() && !is_cyrillic(*latin)));
    }
}
