//! What a line may say, by the network's probabilities of characters from step to step: known words and the usual make of numbers are
//! preferred, and other readings are kept beside the likeliest.

use ndarray::ArrayView2;

use super::cyrillic::is_cyrillic;
use super::gather::close;
use super::lexicon::{ANSWERS, begins_known_word, capitalised, nearest};
use super::wording::without_grade;

/// Readings kept from step to step (the beam), and given back.
const KEPT: usize = 12;
/// Characters less likely than this (log probability) in a step aren't followed up.
const FAINTEST: f32 = -7.0;
/// Beginnings this much less likely than the likeliest, in nats, aren't either, whatever their wording.
const HOPELESS: f32 = 12.0;
/// What a letter of a known word adds to a reading, in nats.
const KNOWN_LETTER: f32 = 1.0;
/// What is rare in labels takes this off, in nats: letters behind digits or the other way round without a blank, capitals behind small letters, a dash
/// at one end only.
const ODD: f32 = 2.0;

/// What the Cyrillic sign for "number" takes off, in nats, where no Cyrillic stands beside it: as N° is mostly printed elsewhere, it looks the same.
const FOREIGN_SIGN: f32 = 3.0;

/// Small letters that are told from capitals by their size alone.
const SAME_SHAPE: [char; 8] = ['c', 'o', 's', 'u', 'v', 'w', 'x', 'z'];

/// One way to read a line.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Spelling {
    pub(super) said: String,
    /// Log probability of it by the network alone.
    pub(super) seen: f32,
    /// Log probability of it among all readings kept, with its words and numbers weighed.
    pub(super) sure: f32,
    /// Whether words or stars for how hard the puzzle is stood behind it.
    pub(super) graded: bool,
}

/// The readings without what only tells how hard the puzzle is, each once.
pub(super) fn without_grades(spellings: Vec<Spelling>) -> Vec<Spelling> {
    let mut kept: Vec<Spelling> = Vec::new();
    for spelling in spellings {
        let said = without_grade(&spelling.said).to_owned();
        let graded = said.len() < spelling.said.len();
        match kept.iter_mut().find(|other| close(&other.said) == close(&said)) {
            Some(same) => {
                // As the likelier of the two.
                same.graded = if spelling.sure > same.sure { graded } else { same.graded };
                (same.seen, same.sure) = (same.seen.max(spelling.seen), either(same.sure, spelling.sure));
            }
            None => kept.push(Spelling { said, graded, ..spelling }),
        }
    }
    kept.sort_by(|a, b| b.sure.total_cmp(&a.sure));
    kept
}

/// Log probabilities of a beginning, of all ways to come to it that end in the blank and in its last character.
#[derive(Clone, Copy)]
struct Ends {
    blank: f32,
    letter: f32,
}

impl Ends {
    const NEVER: Self = Self { blank: f32::NEG_INFINITY, letter: f32::NEG_INFINITY };

    fn both(&self) -> f32 {
        either(self.blank, self.letter)
    }
}

/// What a beginning becomes in a step: the number of the one kept, the character that makes it longer, if one does, and its probabilities.
type Next = (usize, Option<char>, Ends);

/// The likeliest readings, the likeliest first: beginnings are followed step by step (prefix beam search, Graves and Jaitly 2014), their
/// wording weighed in. `steps` is `[steps, classes]`, log probabilities; class 0 is the blank, class i + 1 `alphabet[i]`.
pub(super) fn spellings(steps: &ArrayView2<f32>, alphabet: &[char]) -> Vec<Spelling> {
    // Each with what its wording speaks for it.
    let mut kept: Vec<(Vec<char>, Ends, f32)> = vec![(Vec::new(), Ends { blank: 0.0, letter: f32::NEG_INFINITY }, favour(&[], false))];
    for step in steps.rows() {
        let likely: Vec<(char, f32)> =
            alphabet.iter().zip(step.iter().skip(1)).filter(|(_, p)| **p > FAINTEST).map(|(c, p)| (*c, *p)).collect();
        let Some(&blank) = step.first() else { break };
        if likely.is_empty() {
            // As most steps are: all stay what they were.
            kept.iter_mut().for_each(|(_, ends, _)| *ends = Ends { blank: ends.both() + blank, letter: f32::NEG_INFINITY });
            continue;
        }
        // All that were kept and may stay as they are, then those that a character makes longer.
        let mut next: Vec<Next> = (0..kept.len()).map(|own| (own, None, Ends::NEVER)).collect();
        for (own, (begun, ends, _)) in kept.iter().enumerate() {
            next[own].2.blank = either(next[own].2.blank, ends.both() + blank);
            // A longer one may be kept already; else nobody else comes to it.
            let more = |(other, (text, ..)): (usize, &(Vec<char>, Ends, f32))| {
                text.split_last().filter(|(_, before)| *before == begun.as_slice()).map(|(c, _)| (*c, other))
            };
            let longer: Vec<(char, usize)> = kept.iter().enumerate().filter_map(more).collect();
            let both = ends.both();
            for &(c, p) in &likely {
                let again = begun.last() == Some(&c);
                if again {
                    next[own].2.letter = either(next[own].2.letter, ends.letter + p);
                }
                let before = if again { ends.blank } else { both };
                match longer.iter().find(|(last, _)| *last == c) {
                    Some(&(_, other)) => next[other].2.letter = either(next[other].2.letter, before + p),
                    None => next.push((own, Some(c), Ends { blank: f32::NEG_INFINITY, letter: before + p })),
                }
            }
        }
        let most = next.iter().map(|(_, _, ends)| ends.both()).fold(f32::NEG_INFINITY, f32::max);
        // Each with the most that it may come to: a character adds no more than that of a known word.
        let mut next: Vec<(f32, Next)> = next
            .into_iter()
            .filter(|(_, _, ends)| ends.both() > most - HOPELESS)
            .map(|each| (each.2.both() + kept[each.0].2 + each.1.map_or(0.0, |_| KNOWN_LETTER), each))
            .collect();
        next.sort_unstable_by(|a, b| b.0.total_cmp(&a.0));
        let mut best: Vec<(f32, Vec<char>, Ends, f32)> = Vec::with_capacity(KEPT + 1);
        for (at_most, (own, more, ends)) in next {
            if best.len() == KEPT && best[KEPT - 1].0 > at_most {
                break;
            }
            let (begun, _, before) = &kept[own];
            let begun: Vec<char> = begun.iter().copied().chain(more).collect();
            let favour = if more.is_some() { favour(&begun, false) } else { *before };
            let weight = ends.both() + favour;
            let place = best.partition_point(|other| other.0.total_cmp(&weight).reverse().then_with(|| other.1.cmp(&begun)).is_lt());
            best.insert(place, (weight, begun, ends, favour));
            best.truncate(KEPT);
        }
        kept = best.into_iter().map(|(_, begun, ends, favour)| (begun, ends, favour)).collect();
    }
    let mut readings: Vec<Spelling> = Vec::new();
    for (text, ends, _) in kept {
        let said = usual(&text.iter().collect::<String>());
        let (seen, sure) = (ends.both(), ends.both() + favour(&text, true));
        match readings.iter_mut().find(|reading| close(&reading.said) == close(&said)) {
            Some(reading) => (reading.seen, reading.sure) = (either(reading.seen, seen), either(reading.sure, sure)),
            None => readings.push(Spelling { said, seen, sure, graded: false }),
        }
    }
    readings.retain(|reading| !reading.said.is_empty() && reading.sure.is_finite());
    let all = readings.iter().map(|reading| reading.sure).fold(f32::NEG_INFINITY, either);
    readings.iter_mut().for_each(|reading| reading.sure -= all);
    readings.sort_by(|a, b| b.sure.total_cmp(&a.sure));
    readings
}

/// A text as such texts are mostly printed: without a line to write on behind it, blanks single, dashes short, words beside numbers known ones and with a capital that can't be told from its small letter, and
/// solutions counted by numbers.
fn usual(text: &str) -> String {
    let text = text.trim_end_matches(['_', ' ']).replace(['–', '—'], "-");
    let has_number = text.contains(|c: char| c.is_ascii_digit());
    let mut words: Vec<String> = text.split_whitespace().map(str::to_owned).collect();
    let mut behind_answer = false;
    for (at, word) in words.iter_mut().enumerate() {
        if behind_answer && matches!(word.as_str(), "I" | "l" | "i") {
            "1".clone_into(word);
        }
        if let Some(known) = nearest(word).filter(|_| has_number) {
            *word = known;
        }
        let small: Vec<char> = word.chars().collect();
        if has_number && at == 0 && word.starts_with(SAME_SHAPE) && begins_known_word(&small, false) {
            *word = capitalised(word);
        }
        behind_answer = ANSWERS.contains(&word.to_lowercase().as_str());
    }
    // The small raised letter behind it is easily overlooked.
    if let [sign, number, ..] = words.as_mut_slice()
        && sign == "N"
        && number.starts_with(|c: char| c.is_ascii_digit())
    {
        "N°".clone_into(sign);
    }
    words.join(" ")
}

/// The log of the sum of two probabilities given as logs.
fn either(a: f32, b: f32) -> f32 {
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    if low == f32::NEG_INFINITY { high } else { high + (low - high).exp().ln_1p() }
}

/// What the wording of a text, or of its beginning unless `ended`, speaks for it, in nats.
fn favour(text: &[char], ended: bool) -> f32 {
    let is_of_word = |c: &char| c.is_alphanumeric() || *c == '\'';
    let dash_at = |end: Option<&char>| end == Some(&'-');
    let mut favour = if ended && dash_at(text.first()) != dash_at(text.last()) { -ODD } else { 0.0 };
    if text.contains(&'№') && !text.iter().any(|c| is_cyrillic(*c)) {
        favour -= FOREIGN_SIGN;
    }
    let mut at = 0;
    while at < text.len() {
        let long = text[at..].iter().take_while(|c| is_of_word(c)).count();
        if long > 0 {
            let word = &text[at..at + long];
            let odd = word.windows(2).enumerate().filter(|(i, pair)| is_odd(pair[0], pair[1], *i)).count();
            let known = odd == 0 && is_usual_case(word) && begins_known_word(word, !ended && at + long == text.len());
            favour += if known { KNOWN_LETTER * long as f32 } else { -ODD * odd as f32 };
        }
        at += long.max(1);
    }
    favour
}

/// Whether `b` seldom stands right behind `a`, the character numbered `i` of its word: "B42" and "42a" are usual.
fn is_odd(a: char, b: char, i: usize) -> bool {
    a.is_alphabetic() && b.is_ascii_digit() && !(i == 0 && a.is_uppercase())
        || a.is_ascii_digit() && b.is_alphabetic()
        || a.is_lowercase() && b.is_uppercase()
}

/// Whether a word is in small letters, in capitals, or begins with the only capital.
fn is_usual_case(word: &[char]) -> bool {
    let rest = || word.iter().skip(1).filter(|c| c.is_alphabetic());
    rest().all(|c| c.is_lowercase() || *c == 'ß') || word.iter().all(|c| !c.is_lowercase())
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::Array2;

    /// One step for each character and a blank between them, each character with its likely others.
    fn steps(alphabet: &[char], line: &[&[(char, f32)]]) -> Array2<f32> {
        let mut steps = Array2::from_elem((2 * line.len(), alphabet.len() + 1), -20.0_f32);
        for (i, likely) in line.iter().enumerate() {
            for (c, p) in *likely {
                let class = alphabet.iter().position(|a| a == c).expect("in the alphabet") + 1;
                steps[[2 * i, class]] = p.ln();
            }
            steps[[2 * i + 1, 0]] = 0.0;
        }
        steps
    }

    #[test]
    fn runs_are_one_character_and_blanks_part_them() {
        let steps = ndarray::array![[0.1_f32, 0.9], [0.2, 0.8], [0.9, 0.1], [0.3, 0.7]].mapv(f32::ln);
        let read = spellings(&steps.view(), &['1']);
        assert_eq!(read[0].said, "11");
        // All ways to read a single 1: 1 = 1 in any run, else blanks.
        let single = read.iter().find(|reading| reading.said == "1").expect("kept").seen.exp();
        let ways = 0.9 * 0.8 * 0.9 * 0.3 + 0.9 * 0.2 * 0.9 * 0.3 + 0.1 * 0.8 * 0.9 * 0.3 + 0.1 * 0.2 * 0.1 * 0.3 + 0.1 * 0.2 * 0.9 * 0.7;
        let runs = 0.9 * 0.8 * 0.1 * 0.3 + 0.9 * 0.8 * 0.1 * 0.7 + 0.1 * 0.8 * 0.1 * 0.3 + 0.1 * 0.8 * 0.1 * 0.7 + 0.1 * 0.2 * 0.1 * 0.7;
        assert!((single - ways - runs).abs() < 1e-4, "{single} for {}", ways + runs);
    }

    #[test]
    fn words_beside_numbers_are_as_usual() {
        let cases = [
            ("week  10", "Week 10"),
            ("Scluton 7451", "Solution 7451"),
            ("Solution I", "Solution 1"),
            ("Puzzle I", "Puzzle I"),
            ("Scluton", "Scluton"),
            ("5. ____", "5."),
            ("N 12", "N° 12"),
            ("N12", "N12"),
        ];
        cases.iter().for_each(|(read, meant)| assert_eq!(usual(read), *meant));
    }

    #[test]
    fn known_words_and_plain_numbers_are_preferred() {
        let alphabet: Vec<char> = "05uoSdkKDUO".chars().collect();
        let even = |a: char, b: char| [(a, 0.55_f32), (b, 0.45)];
        let line = [even('5', 'S'), even('u', 'u'), even('d', 'd'), even('0', 'o'), even('K', 'k'), even('u', 'u')];
        let line: Vec<&[(char, f32)]> = line.iter().map(|likely| likely.as_slice()).collect();
        let read = spellings(&steps(&alphabet, &line).view(), &alphabet);
        assert_eq!(read[0].said, "Sudoku", "{read:?}");
        let line = [even('5', '5'), even('o', '0')];
        let line: Vec<&[(char, f32)]> = line.iter().map(|likely| likely.as_slice()).collect();
        assert_eq!(spellings(&steps(&alphabet, &line).view(), &alphabet)[0].said, "50");
    }
}
