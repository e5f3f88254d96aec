//! Words that stand by grids, and reading by them: a letter or two that can't be told is told by its word.

/// How hard a puzzle is and the words beside it, in the languages whose pages were looked at (English, French, German, Italian, Spanish,
/// Portuguese, Dutch), in small letters. Common practice of newspapers and booklets, no source.
pub(super) const HARDNESS: &[&str] = &[
    "easy",
    "medium",
    "moderate",
    "hard",
    "tough",
    "gentle",
    "mild",
    "tricky",
    "fiendish",
    "difficult",
    "expert",
    "beginner",
    "very",
    "extra",
    "super",
    "level",
    "difficulty",
    "rating",
    "facile",
    "moyen",
    "moyenne",
    "difficile",
    "difficulté",
    "diabolique",
    "très",
    "niveau",
    "leicht",
    "mittel",
    "schwer",
    "schwierig",
    "schwierigkeit",
    "schwierigkeitsgrad",
    "sehr",
    "stufe",
    "medio",
    "difficoltà",
    "esperto",
    "molto",
    "livello",
    "fácil",
    "difícil",
    "experto",
    "muy",
    "nivel",
    "dificultad",
    "médio",
    "muito",
    "nível",
    "dificuldade",
    "makkelijk",
    "gemiddeld",
    "moeilijk",
    "zwaar",
    "heel",
    "zeer",
    "moeilijkheid",
];
/// Words of titles, likewise.
const TITLES: &[&str] = &[
    "sudoku",
    "puzzle",
    "puzzles",
    "number",
    "numbers",
    "place",
    "brain",
    "work",
    "today's",
    "weekend",
    "daily",
    "break",
    "grid",
    "game",
    "games",
    "challenge",
    "classic",
    "logic",
    "corner",
    "problem",
    "grille",
    "grilles",
    "jeux",
    "jour",
    "problème",
    "énigme",
    "rätsel",
    "zahlenrätsel",
    "denksport",
    "kopfnuss",
    "knobelei",
    "aufgabe",
    "spiel",
    "gitter",
    "gioco",
    "giochi",
    "schema",
    "griglia",
    "enigma",
    "problema",
    "pasatiempo",
    "pasatiempos",
    "juego",
    "juegos",
    "cuadrícula",
    "passatempo",
    "passatempos",
    "jogo",
    "jogos",
    "grade",
    "puzzel",
    "puzzels",
    "cijferpuzzel",
    "raadsel",
    "opgave",
    "spel",
];
/// Shorter words are like too many others.
const LEAST_LETTERS: usize = 4;

/// Whether a word, in small letters, is one of titles.
pub(super) fn is_title(word: &str) -> bool {
    TITLES.contains(&word)
}

/// The text with the probability of each of its characters, read by the words it may be made of; and the probability of that, in which known words
/// count as one character each.
pub(super) fn read_by_words(read: &[(char, f32)]) -> (String, f32) {
    let mut words = Vec::new();
    let mut sure = 1.0;
    for part in read.split(|(c, _)| c.is_whitespace()).filter(|part| !part.is_empty()) {
        let text: String = part.iter().map(|(c, _)| *c).collect();
        let product: f32 = part.iter().map(|(_, p)| *p).product();
        match known(&text) {
            Some(word) => {
                sure *= product.powf(1.0 / part.len() as f32);
                words.push(word);
            }
            None => {
                sure *= product;
                words.push(as_number(&text));
            }
        }
    }
    (words.join(" "), sure)
}

/// The known word that a part of a text is, or almost is, with the marks around it and its capitals as read.
fn known(part: &str) -> Option<String> {
    let is_mark = |c: char| !c.is_alphanumeric();
    let core = part.trim_matches(is_mark);
    let letters = core.chars().filter(|c| c.is_alphabetic()).count();
    if core.chars().count() < LEAST_LETTERS || 2 * letters <= core.chars().count() {
        return None;
    }
    let small: Vec<char> = core.to_lowercase().chars().collect();
    let all = HARDNESS.iter().chain(TITLES).filter(|word| word.chars().count() >= LEAST_LETTERS);
    // Of words as near, the one that is as long: a letter is misread more often than missed.
    let nearness = |word: &&'static str| {
        let letters: Vec<char> = word.chars().collect();
        (distance(&small, &letters), small.len().abs_diff(letters.len()), *word)
    };
    let (apart, _, word) = all.map(nearness).min()?;
    if apart > small.len() / 4 {
        return None;
    }
    let upper = core.chars().filter(|c| c.is_uppercase()).count();
    let cased = if 2 * upper > letters && letters > 1 {
        word.to_uppercase()
    } else if core.starts_with(|c: char| c.is_uppercase() || c.is_ascii_digit()) {
        let mut rest = word.chars();
        rest.next().map_or_else(String::new, |first| first.to_uppercase().chain(rest).collect())
    } else {
        word.to_owned()
    };
    let (before, behind) = part.split_once(core)?;
    Some(format!("{before}{cased}{behind}"))
}

/// Letters among digits as the digits that look like them: "6o" is 60, "B42" stays.
fn as_number(part: &str) -> String {
    let digits = part.chars().filter(char::is_ascii_digit).count();
    let alike = |c: char| match c {
        'o' | 'O' => Some('0'),
        'l' | 'I' => Some('1'),
        _ => None,
    };
    let others = part.chars().filter(|c| c.is_alphabetic() && alike(*c).is_none()).count();
    if digits == 0 || others > 0 {
        return part.to_owned();
    }
    part.chars().map(|c| alike(c).unwrap_or(c)).collect()
}

/// The number of letters to change, add or leave out to make one word of the other (Levenshtein 1966).
fn distance(a: &[char], b: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let changed = corner + usize::from(x != y);
            corner = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(corner + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_tell_their_letters() {
        let cases = [
            ("375 gemiddeid", "375 gemiddeld"),
            ("SUD0KU", "SUDOKU"),
            ("Kopfnus5", "Kopfnuss"),
            ("3uego 4", "Juego 4"),
            ("Facil: 13", "Fácil: 13"),
            ("#6o", "#60"),
            ("B42", "B42"),
            ("No. 7", "No. 7"),
            ("Orchard", "Orchard"),
            ("(hard)", "(hard)"),
        ];
        let read = |text: &str| read_by_words(&text.chars().map(|c| (c, 0.9)).collect::<Vec<_>>()).0;
        let wrong: Vec<_> =
            cases.iter().map(|&(text, expected)| (read(text), expected)).filter(|(got, expected)| got != expected).collect();
        assert!(wrong.is_empty(), "{wrong:?}");
    }

    #[test]
    fn unknown_words_need_every_letter() {
        let sure = |text: &str| read_by_words(&text.chars().map(|c| (c, 0.5)).collect::<Vec<_>>()).1;
        assert!((sure("Sudoku") - 0.5).abs() < 1e-6 && (sure("Orchid") - 0.5_f32.powi(6)).abs() < 1e-6);
    }
}
