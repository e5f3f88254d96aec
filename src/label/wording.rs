//! Which texts are labels: a number or short title, and not how hard the puzzle is, a date or the page's number.

use super::lexicon::{ANSWERS, HARDNESS, is_month, is_title};

/// Of the words for how hard a puzzle is, the ones that a number goes with: "Level 4" tells how hard the puzzle is, "Hard 114" which one it is.
const GRADED: &[&str] = &[
    "level",
    "difficulty",
    "rating",
    "difficulté",
    "niveau",
    "stufe",
    "schwierigkeit",
    "schwierigkeitsgrad",
    "difficoltà",
    "livello",
    "nivel",
    "dificultad",
    "nível",
    "dificuldade",
    "moeilijkheid",
];
/// Words for a page; their number is the page's.
const PAGES: &[&str] = &["page", "pp", "pg", "seite", "pagina", "pág", "página", "pag", "blz", "bladzijde"];
/// Words and signs before a number.
const NUMBERS: &[&str] = &["no", "nr", "n", "nro", "num", "núm", "number", "numéro", "numero", "número", "nummer"];
/// Words for a time; the number before them is how long a puzzle may take.
const TIMES: &[&str] = &["min", "mins", "minute", "minutes", "minuten", "minuti", "minutos", "minuter", "mn", "sec", "sek"];
/// A greater number is no grade: "Level 39" is a grid's number, and "Level 4192" the fourth level and the grid's number, set close.
const MOST_GRADE: u32 = 10;
/// More words than this are no short title.
const MOST_WORDS: usize = 4;
/// Nor is a text of more characters a label: "Grille du jour - Difficulté : 3/3" has 33.
const LONGEST: usize = 36;

/// What a text near a grid is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Wording {
    /// It holds a number, or is a single capital letter, that tells the grid from others.
    Number,
    /// A short title without a number, of which a word at least is known.
    Title,
    /// A few words that may be a title or something else.
    Words,
    /// Something else.
    None,
}

/// What `text`, read near a grid, is.
pub(super) fn wording(text: &str) -> Wording {
    let words: Vec<String> = words(text).collect();
    let numbers = words.iter().filter(|word| is_number(word)).count();
    let is_any = |list: &[&str]| words.iter().any(|word| list.contains(&word.as_str()));
    let letters = text.chars().filter(|c| c.is_alphabetic()).count();
    let is_dated = numbers > 0 && words.iter().any(|word| is_month(word));
    if is_dated || is_date(text) || text.chars().count() > LONGEST {
        return Wording::None;
    }
    if is_rating(text) {
        return Wording::None;
    }
    if numbers > 0 {
        let graded = is_any(GRADED) && words.iter().any(|word| may_be_grade(word));
        let of_grade = if graded { grade_numbers(text) } else { 0 };
        let of_page = usize::from(numbers == 1 && (is_any(PAGES) || is_page_sign(text)));
        let of_time = words.windows(2).filter(|pair| is_time(&pair[0], &pair[1])).count() + clock_numbers(text);
        if numbers > of_grade + of_page + of_time {
            return Wording::Number;
        }
        if of_page > 0 {
            return Wording::None;
        }
    }
    if words.len() == 1 && letters == 1 && text.chars().any(char::is_uppercase) || roman_of(text).is_some() {
        return Wording::Number;
    }
    let tells_nothing = |word: &str| is_number(word) || HARDNESS.contains(&word) || TIMES.contains(&word) || word.chars().count() < 2;
    let telling = words.iter().filter(|word| !tells_nothing(word)).count();
    if telling == 0 || letters < 3 || words.iter().filter(|word| !is_number(word)).count() > MOST_WORDS || is_any(&ANSWERS) {
        Wording::None
    } else if words.iter().any(|word| is_title(word)) {
        Wording::Title
    } else {
        Wording::Words
    }
}

/// Whether a text is a number with what numbers of grids are printed with: "No. 42", "#42", "(42)", "42.", "Sudoku 42", "42 hard".
pub(super) fn is_dressed(text: &str) -> bool {
    let signed = text.ends_with(['.', ')', ']']) || text.starts_with(['#', '(', '[']);
    wording(text) == Wording::Number && (signed || words(text).any(|word| goes_with_number(&word)))
}

/// Whether a text is a number behind a word or a sign for one, or for a puzzle or its solution, and nothing else: "Nr. 2388", "#42", "Rätsel 50", "Solution 319".
pub(super) fn is_named(text: &str) -> bool {
    let told: Vec<String> = words(text).collect();
    let named = |word: &String| NUMBERS.contains(&word.as_str()) || ANSWERS.contains(&word.as_str()) || is_title(word);
    match told.as_slice() {
        [number] => text.starts_with('#') && is_number(number),
        [names @ .., number] => is_number(number) && names.len() <= 2 && names.iter().all(named),
        [] => false,
    }
}

/// Whether a text is a number and nothing that doesn't go with one.
pub(super) fn is_plain_number(text: &str) -> bool {
    wording(text) == Wording::Number && !has_other_words(text)
}

/// Whether a text has words that don't go with a grid's number: those of an article that runs beside it. Single letters may be a part of the number.
pub(super) fn has_other_words(text: &str) -> bool {
    words(text).any(|word| !is_number(&word) && word.chars().count() > 1 && !goes_with_number(&word))
}

fn goes_with_number(word: &str) -> bool {
    is_title(word) || HARDNESS.contains(&word) || NUMBERS.contains(&word)
}

/// The Roman numeral below 400, of two letters at least, by which a text counts a grid: "XIV", "Sudoku XIV"; `None` where other words stand by it.
fn roman_of(text: &str) -> Option<&str> {
    let mut romans = Vec::new();
    for word in text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()) {
        if is_roman(word) {
            romans.push(word);
        } else if !goes_with_number(&word.to_lowercase()) {
            return None;
        }
    }
    if let [roman] = romans[..] { Some(roman) } else { None }
}

fn is_roman(word: &str) -> bool {
    word.len() > 1 && word.bytes().all(|sign| b"IVXLC".contains(&sign)) && (1..400).any(|number| roman(number) == word)
}

/// A number below 400 in Roman numerals.
fn roman(mut number: u32) -> String {
    let mut text = String::new();
    for (value, sign) in [(100, "C"), (90, "XC"), (50, "L"), (40, "XL"), (10, "X"), (9, "IX"), (5, "V"), (4, "IV"), (1, "I")] {
        while number >= value {
            text += sign;
            number -= value;
        }
    }
    text
}

/// The number by which a label ties a printed solution to its puzzle: its letters and digits without the words beside
/// them, so that "No. 42", "42." and "Sudoku 42" are one. `None` where the label has none.
///
/// ```
/// use gridlift::label::number_of;
/// assert_eq!(number_of("No. 42").as_deref(), Some("42"));
/// assert_eq!(number_of("B-42 hard").as_deref(), Some("B42"));
/// assert_eq!(number_of("Sudoku"), None);
/// ```
pub fn number_of(label: &str) -> Option<String> {
    if wording(label) != Wording::Number {
        return None;
    }
    if let Some(roman) = roman_of(label) {
        return Some(roman.to_owned());
    }
    // Numbers still to come that only tell how hard the puzzle is.
    let mut grades = 0;
    let mut number = String::new();
    for word in words(label) {
        if GRADED.contains(&word.as_str()) {
            grades = grade_numbers(label);
        } else if may_be_grade(&word) && grades > 0 {
            grades -= 1;
        } else if is_number(&word) {
            // Leading noughts only fill up: 007 is 7.
            let digits = word.trim_start_matches('0');
            number += if digits.is_empty() { "0" } else { digits };
        } else if word.chars().count() == 1 && word.chars().all(|c| c.is_ascii_alphabetic()) && word != "n" {
            number += &word;
        }
    }
    (!number.is_empty()).then(|| number.to_uppercase())
}

/// A label without what only tells how hard the puzzle is: "42 hard" is "42", "No. 7 - Level 3" is "No. 7", and stars are no letters.
pub(super) fn without_grade(text: &str) -> &str {
    let text = without_stars(text);
    if wording(text) != Wording::Number {
        let (before, word) = last_word(text);
        return if is_bracketed(before, &word) && HARDNESS.contains(&word.as_str()) { before.trim_end_matches([' ', '(']) } else { text };
    }
    let (mut kept, mut rest) = (text, text);
    loop {
        let (before, word) = last_word(rest);
        rest = match last_word(before) {
            (before, graded) if is_number(&word) && GRADED.contains(&graded.as_str()) => before,
            (before, number) if is_time(&number, &word) => before,
            _ if ends_like_hardness(&word) || is_bracketed(before, &word) => before,
            _ => return kept,
        };
        // Its own full stop or bracket stays with a number, what parts it from the next word doesn't.
        let number = rest.trim_end_matches([' ', '-', ':', ',', ';', '(', '/', '*']);
        if wording(number) == Wording::Number && number.ends_with(|c: char| c.is_ascii_digit() || ".)".contains(c)) {
            kept = number;
        }
    }
}

/// A text without a row of stars at its end, also such as the reader takes for some of these letters.
fn without_stars(text: &str) -> &str {
    const LIKE_STARS: &str = "kKÁáAaXx*#★ ";
    let is_row = |signs: &str| signs.chars().all(|c| LIKE_STARS.contains(c)) && signs.contains(['k', 'K', 'Á', '★']);
    let before = text.trim_end_matches(|c| LIKE_STARS.contains(c));
    if is_row(&text[before.len()..]) && (before.is_empty() || before.ends_with(|c: char| c.is_ascii_digit() || ".)]".contains(c))) {
        return before;
    }
    let mut kept = text;
    // Behind a word a single capital may be the grid's letter.
    while let Some((name, _)) = kept.rsplit_once(' ').filter(|(_, row)| is_row(row) && *row != "K") {
        kept = name.trim_end();
    }
    kept
}

/// Whether a word tells how hard a puzzle is, or what is left of such a word whose first letters weren't seen ("ifficile" behind a number and a wide gap), or
/// such a word with the bar before it, read as a letter.
fn ends_like_hardness(word: &str) -> bool {
    let behind_bar = || word.strip_prefix(['l', 'i', 'j']).is_some_and(|word| HARDNESS.contains(&word));
    word.chars().count() > 2 && (HARDNESS.iter().any(|known| known.ends_with(word)) || behind_bar())
}

/// Whether a word stands in brackets, opened at the end of what is before it.
fn is_bracketed(before: &str, word: &str) -> bool {
    before.ends_with('(') && word.chars().count() > 2 && !is_number(word)
}

/// The last run of letters or of digits (with what a grade has between them, "1/3"), in small letters, and the text before it.
fn last_word(text: &str) -> (&str, String) {
    let end = text.trim_end_matches(|c: char| !c.is_alphanumeric());
    let digits = end.ends_with(|c: char| c.is_ascii_digit());
    let begin = end.trim_end_matches(|c: char| if digits { c.is_ascii_digit() || c == '/' } else { c.is_alphabetic() });
    (begin, end[begin.len()..].to_lowercase())
}

/// How many numbers a grade takes: two for "1/3".
fn grade_numbers(text: &str) -> usize {
    if text.contains('/') { 2 } else { 1 }
}

/// The runs of letters and of digits in a text, in small letters; "B42" is two.
fn words(text: &str) -> impl Iterator<Item = String> {
    let mut runs: Vec<String> = Vec::new();
    let mut before = None;
    for c in text.chars() {
        let kind = if c.is_ascii_digit() {
            Some(true)
        } else if c.is_alphabetic() && c != 'º' || c == '\'' && before == Some(false) {
            Some(false)
        } else {
            None
        };
        match runs.last_mut() {
            Some(run) if kind.is_some() && kind == before => run.extend(c.to_lowercase()),
            _ if kind.is_some() => runs.push(c.to_lowercase().collect()),
            _ => {}
        }
        before = kind;
    }
    runs.into_iter()
}

fn is_number(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_digit())
}

fn is_time(number: &str, word: &str) -> bool {
    is_number(number) && TIMES.contains(&word)
}

fn may_be_grade(word: &str) -> bool {
    word.parse().is_ok_and(|number: u32| number <= MOST_GRADE)
}

/// Whether a text is a row of discs or rings that tell how hard a puzzle is, read as characters.
fn is_rating(text: &str) -> bool {
    let marks: Vec<char> = text.chars().filter(|c| !c.is_whitespace()).collect();
    marks.len() > 2 && marks.iter().all(|c| "0OoQ°º*".contains(*c))
}

/// Whether a text is a page's number behind a letter with a full stop or between dashes: "p. 17", "S. 17", "- 17 -". "S17" is a grid's.
fn is_page_sign(text: &str) -> bool {
    let dashed = text.starts_with('-') && text.ends_with('-');
    dashed || ["p.", "s."].iter().any(|sign| text.to_lowercase().starts_with(sign))
}

/// How many numbers of a text tell a time by the clock: two for "14:09".
fn clock_numbers(text: &str) -> usize {
    let digits = |c: &char| c.is_ascii_digit();
    let is_clock = |pair: &[&str]| {
        let hours = pair[0].chars().rev().take_while(digits).count();
        let minutes = pair[1].chars().take_while(digits).count();
        (1..=2).contains(&hours) && minutes == 2
    };
    2 * text.split(':').collect::<Vec<_>>().windows(2).filter(|pair| is_clock(pair)).count()
}

/// Whether a text is a date in digits: three numbers parted by full stops, strokes or dashes, or day, month and year of which full stops were overlooked.
fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.trim().split(['.', '/', '-']).collect();
    let close = text.trim().replace('.', "");
    let is_close = (6..=8).contains(&close.len()) && close.bytes().all(|b| b.is_ascii_digit()) && {
        let (day, year) = close.split_at(close.len() - 4);
        ["19", "20"].iter().any(|century| year.starts_with(century)) && day_and_month(day)
    };
    is_close || parts.len() == 3 && parts.iter().all(|part| (1..=4).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit()))
}

/// Whether two to four digits may be a day and its month, or a month and its day.
fn day_and_month(digits: &str) -> bool {
    let (days, months) = (1..=31, 1..=12);
    (1..digits.len()).any(|at| {
        let (first, second) = digits.split_at(at);
        let both = first.parse::<u32>().ok().zip(second.parse::<u32>().ok());
        both.is_some_and(|(a, b)| days.contains(&a) && months.contains(&b) || months.contains(&a) && days.contains(&b))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_are_told_from_what_else_stands_there() {
        let cases = [
            ("42", Wording::Number),
            ("42.", Wording::Number),
            ("No. 42", Wording::Number),
            ("N° 7", Wording::Number),
            ("B-42", Wording::Number),
            ("Sudoku 114", Wording::Number),
            ("52 facile", Wording::Number),
            ("Experto 114", Wording::Number),
            ("Level 4 192", Wording::Number),
            ("Difficulté : 1/3 192", Wording::Number),
            ("C", Wording::Number),
            ("[42]", Wording::Number),
            ("XLIV", Wording::Number),
            ("Sudoku XIV", Wording::Number),
            ("XIV Orchard", Wording::Words),
            ("VIX", Wording::Words),
            ("Grille du jour - Difficulté : 3/3", Wording::Title),
            ("Zahlenrätsel", Wording::Title),
            ("Sudoku - hard", Wording::Title),
            ("Grille - Difficulté : 1/3", Wording::Title),
            ("Today's puzzle: very hard", Wording::Title),
            ("Level 4192", Wording::Number),
            ("229.2022", Wording::None),
            ("17.62012", Wording::None),
            ("2732014", Wording::None),
            ("12020", Wording::Number),
            ("992014", Wording::None),
            ("452113", Wording::Number),
            ("000OO", Wording::None),
            ("Orchard walk", Wording::Words),
            ("hard", Wording::None),
            ("SEHR SCHWER", Wording::None),
            ("Level 4", Wording::None),
            ("Level 3 52 min", Wording::None),
            ("Muy difícil 30 min", Wording::None),
            ("17 min", Wording::None),
            ("_: (14:09)", Wording::None),
            ("Puzzle 17 (14:09)", Wording::Number),
            ("Puzzle 17: 4", Wording::Number),
            ("Sudoku 17 30 min", Wording::Number),
            ("Difficulté : 1/3", Wording::None),
            ("12.03.2024", Wording::None),
            ("Monday 12 March", Wording::None),
            ("Monday", Wording::Title),
            ("Level 39", Wording::Number),
            ("Page 17", Wording::None),
            ("S. 17", Wording::None),
            ("- 17 -", Wording::None),
            ("S-17", Wording::Number),
            ("Solutions", Wording::None),
            ("i", Wording::None),
            ("- .", Wording::None),
            ("the a of and to in is", Wording::None),
        ];
        let wrong: Vec<_> =
            cases.iter().map(|&(text, expected)| (text, wording(text), expected)).filter(|(_, got, expected)| got != expected).collect();
        assert!(wrong.is_empty(), "{wrong:?}");
    }

    /// All that is told otherwise than expected, at once.
    fn assert_told(cases: &[(&str, &str)], told: impl Fn(&str) -> Option<String>) {
        let told = cases.iter().map(|&(text, expected)| (text, told(text), expected));
        let wrong: Vec<_> = told.filter(|(_, got, expected)| got.as_deref() != Some(expected)).collect();
        assert!(wrong.is_empty(), "{wrong:?}");
    }

    #[test]
    fn a_grade_behind_a_number_is_no_part_of_the_label() {
        let cases = [
            ("42 hard", "42"),
            ("42. LEICHT", "42."),
            ("No. 7 - Level 3", "No. 7"),
            ("12 Tricky 24 min", "12"),
            ("Rejilla 5 - 30 min", "Rejilla 5"),
            ("B-42 (très difficile)", "B-42"),
            ("Sudoku 6 Hard", "Sudoku 6"),
            ("128 ifficile", "128"),
            ("No. 12 kkk", "No. 12"),
            ("(8)ÁkK", "(8)"),
            ("1 ★★★★", "1"),
            ("Puzzle 7 ★★", "Puzzle 7"),
            ("Silver Park Ak k", "Silver Park"),
            ("Board K", "Board K"),
            ("K", ""),
            ("Nr. 13 (fricky)", "Nr. 13"),
            ("49. lTough", "49."),
            ("#33lmittel", "#33"),
            ("Foggy Lane (Hard)", "Foggy Lane"),
            ("42) (Extreme)", "42)"),
            ("166 Difficulté : 1/3", "166"),
            ("Hard 114", "Hard 114"),
            ("Level 4 192", "Level 4 192"),
            ("Sudoku - hard", "Sudoku - hard"),
            ("No. 42 orchard", "No. 42 orchard"),
            ("C", "C"),
        ];
        assert_told(&cases, |text| Some(without_grade(text).to_owned()));
    }

    #[test]
    fn numbers_are_dressed_or_bare() {
        let dressed = |texts: &[&str]| texts.iter().map(|text| is_dressed(text)).collect::<Vec<_>>();
        assert_eq!(dressed(&["42.", "(42)", "#42", "Nr. 42", "Sudoku 42", "42 hard"]), [true; 6]);
        assert_eq!(dressed(&["42", "C", "tea 42", "Sudoku.", "12.03.2024"]), [false; 5]);
    }

    #[test]
    fn words_of_an_article_are_none_of_a_label() {
        let plain = |texts: &[&str]| texts.iter().map(|text| is_plain_number(text)).collect::<Vec<_>>();
        assert_eq!(plain(&["12", "N° 48", "B-1", "Difícil 156", "Sudoku 12"]), [true; 5]);
        assert_eq!(plain(&["ien sa N° 48", "el 1639", "Sudoku"]), [false; 3]);
    }

    #[test]
    fn one_number_in_many_manners() {
        let cases = [
            ("42", "42"),
            ("042", "42"),
            ("#42", "42"),
            ("Nr. 42", "42"),
            ("nº 42", "42"),
            ("42 facile", "42"),
            ("B-42", "B42"),
            ("b 42", "B42"),
            ("Level 4 192", "192"),
            ("Level 39", "39"),
            ("Difficulté : 1/3 192", "192"),
            ("7/42", "742"),
            ("C", "C"),
            ("[42]", "42"),
            ("Núm. 42", "42"),
            ("Puzzle XIV", "XIV"),
        ];
        assert_told(&cases, number_of);
        assert_eq!(number_of("Puzzle"), None);
    }
}
