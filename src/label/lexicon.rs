//! Words that stand by grids: a letter that can't be told is told by its word.

use std::sync::LazyLock;

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
    "exercise",
    "exercice",
    "übung",
    "esercizio",
    "ejercicio",
    "exercício",
    "oefening",
    "round",
    "task",
    "day",
    "tag",
    "giorno",
    "día",
    "dia",
    "dag",
    "week",
    "woche",
    "semaine",
    "settimana",
    "semana",
];
/// Days of the week, likewise: a page of a week's puzzles tells them apart so.
const DAYS: &[&str] = &[
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "friday",
    "saturday",
    "sunday",
    "mon",
    "tue",
    "wed",
    "thu",
    "fri",
    "sat",
    "sun",
    "lundi",
    "mardi",
    "mercredi",
    "jeudi",
    "vendredi",
    "samedi",
    "dimanche",
    "montag",
    "dienstag",
    "mittwoch",
    "donnerstag",
    "freitag",
    "samstag",
    "sonntag",
    "lunedì",
    "martedì",
    "mercoledì",
    "giovedì",
    "venerdì",
    "sabato",
    "domenica",
    "lunes",
    "martes",
    "miércoles",
    "jueves",
    "viernes",
    "sábado",
    "domingo",
    "segunda",
    "terça",
    "quarta",
    "quinta",
    "sexta",
    "maandag",
    "dinsdag",
    "woensdag",
    "donderdag",
    "vrijdag",
    "zaterdag",
    "zondag",
];
/// Names of months, likewise: a number beside one is a date.
const MONTHS: &[&str] = &[
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
    "jan",
    "feb",
    "apr",
    "aug",
    "sept",
    "oct",
    "nov",
    "dec",
    "janvier",
    "février",
    "mars",
    "avril",
    "mai",
    "juin",
    "juillet",
    "août",
    "septembre",
    "octobre",
    "novembre",
    "décembre",
    "januar",
    "februar",
    "märz",
    "juni",
    "juli",
    "oktober",
    "dezember",
    "gennaio",
    "febbraio",
    "marzo",
    "aprile",
    "maggio",
    "giugno",
    "luglio",
    "agosto",
    "settembre",
    "ottobre",
    "dicembre",
    "enero",
    "febrero",
    "abril",
    "mayo",
    "junio",
    "julio",
    "septiembre",
    "octubre",
    "noviembre",
    "diciembre",
    "januari",
    "februari",
    "maart",
    "mei",
    "augustus",
];
/// Whether a word, in small letters, is a month's name.
pub(super) fn is_month(word: &str) -> bool {
    MONTHS.contains(&word)
}

/// Whether a word, in small letters, is one of titles.
pub(super) fn is_title(word: &str) -> bool {
    TITLES.contains(&word) || DAYS.contains(&word)
}

/// Short words beside titles and numbers.
const SMALL_WORDS: &[&str] =
    &["no", "nr", "the", "le", "la", "les", "du", "il", "lo", "el", "los", "das", "der", "die", "o", "os", "de", "het"];

/// All of them, sorted.
static KNOWN: LazyLock<Vec<Vec<char>>> = LazyLock::new(|| {
    let mut known: Vec<Vec<char>> =
        [HARDNESS, TITLES, DAYS, MONTHS, SMALL_WORDS].concat().iter().map(|word| word.chars().collect()).collect();
    known.sort_unstable();
    known
});

/// No known word is longer.
const LONGEST: usize = 32;

/// Whether a word, whatever its capitals, is one that stands by grids; where it has only `begun`, whether one begins like it.
pub(super) fn begins_known_word(word: &[char], begun: bool) -> bool {
    let mut small = ['\0'; LONGEST];
    let mut count = 0;
    for c in word.iter().flat_map(|c| c.to_lowercase()) {
        let Some(place) = small.get_mut(count) else { return false };
        *place = c;
        count += 1;
    }
    let word = &small[..count];
    // A word sorts right behind its own beginning.
    let first = KNOWN.partition_point(|known| known.as_slice() < word);
    KNOWN.get(first).is_some_and(|known| if begun { known.starts_with(word) } else { known == word })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_known_by_their_beginning_and_whole() {
        let known = |word: &str, begun| begins_known_word(&word.chars().collect::<Vec<_>>(), begun);
        assert!(known("SUD", true) && known("Sudoku", false) && known("difficulté", false));
        assert!(!known("sud", false) && !known("Orchard", true));
    }
}
