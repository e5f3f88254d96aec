//! Words that stand by grids: a letter that can't be told is told by its word.

use std::sync::LazyLock;

use super::cyrillic::folded;

type Words = LazyLock<Vec<&'static str>>;

macro_rules! words {
    ($text:literal) => {
        LazyLock::new(|| $text.split_whitespace().collect())
    };
}

/// How hard a puzzle is and the words beside it, in English, French, German, Italian, Spanish, Portuguese, Dutch, in Scandinavian,
/// Slavic and some eastern languages, in small letters. Common practice of newspapers and booklets, no source.
pub(super) static HARDNESS: Words = words!(
    "easy medium moderate hard tough gentle mild tricky fiendish difficult expert beginner very extra super level difficulty rating facile moyen moyenne \
    difficile difficulté diabolique très niveau leicht mittel schwer schwierig schwierigkeit schwierigkeitsgrad sehr stufe medio difficoltà esperto molto \
    livello fácil difícil experto muy nivel dificultad médio muito nível dificuldade makkelijk gemiddeld moeilijk zwaar heel zeer moeilijkheid challenging \
    diabolical evil intermediate advanced novice standard débutant confirmé démoniaque einfach knifflig teuflisch experte profi anfänger intermedio \
    diabolico facilissimo principiante avanzado diabólico intermédio eenvoudig lastig pittig uitdagend lätt medel mycket let mellem middel meget lett \
    middels vanskelig helppo keskitaso keskivaikea vaikea haastava erittäin taso vaikeusaste lehké snadné snadná lehká poziom trudne trudna bardzo közepes \
    nehéz kolay orta zor extreme simple brutal insane deadly impossible ultimate demanding basic normal average master extrême modéré intermédiaire extrem \
    mittelschwer anspruchsvoll meister semplice moderato estremo sencillo moderado extremo maestro simples simpel normaal extreem легко средне сложно \
    лёгкий средний сложный очень эксперт уровень трудно середній складно важко дуже експерт рівень łatwe średnie ekspert svår nivå svær střední těžké \
    velmi obtížné çok seviye könnyű nagyon haladó"
);
/// Words of titles, likewise.
static TITLES: Words = words!(
    "sudoku puzzle puzzles number numbers place brain work today's weekend daily break grid game games challenge classic logic corner problem grille \
    grilles jeux jour problème énigme rätsel zahlenrätsel denksport kopfnuss knobelei aufgabe spiel gitter gioco giochi schema griglia enigma problema \
    pasatiempo pasatiempos juego juegos cuadrícula rejilla tablero rompecabezas desafío desafio grelha quadrícula tabuleiro rompicapo sfida quadrato \
    diagramma diagramm diagramme diagram board défi rooster passatempo passatempos jogo jogos grade puzzel puzzels cijferpuzzel raadsel opgave spel \
    exercise exercice übung esercizio ejercicio exercício oefening round task day tag giorno día dia dag week woche semaine settimana semana tehtävä \
    ristikko úloha hádanka zadanie zagadka feladat rejtvény bulmaca uppgift pussel oppgave desafio desafío reto sfida défi défis aufgaben задача feladvány \
    задание сетка игра день упражнение поле завдання сітка вправа plansza dzień ćwiczenie łamigłówka övning ruta spil øvelse gåde zadání mřížka \
    cvičení peli päivä harjoitus ruudukko soru oyun alıştırma játék tábla gyakorlat today pausa caffè numeri números denkwerk puzzelhoek \
    судоку головоломка числа досуг разминка дня дозвілля rozrywka dnia liczby dagens sifferpussel opgaver talgåde hlavolam křížem krážem čísla päivän \
    pähkinä numerot günün bulmacası sayılar fejtörő számok napi"
);
/// Days of the week, likewise: a page of a week's puzzles tells them apart so.
static DAYS: Words = words!(
    "monday tuesday wednesday thursday friday saturday sunday mon tue wed thu fri sat sun lundi mardi mercredi jeudi vendredi samedi dimanche montag \
    dienstag mittwoch donnerstag freitag samstag sonntag lunedì martedì mercoledì giovedì venerdì sabato domenica lunes martes miércoles jueves viernes \
    sábado domingo segunda terça quarta quinta sexta maandag dinsdag woensdag donderdag vrijdag zaterdag zondag tisdag onsdag torsdag fredag lördag söndag \
    mandag tirsdag maanantai tiistai keskiviikko torstai perjantai lauantai sunnuntai понедельник вторник среда четверг пятница суббота воскресенье \
    понеділок вівторок середа четвер ятниця субота неділя poniedziałek wtorek środa czwartek piątek sobota niedziela måndag lørdag søndag pondělí úterý \
    středa čtvrtek pátek neděle pazartesi salı çarşamba perşembe cuma cumartesi pazar hétfő kedd szerda csütörtök péntek szombat vasárnap"
);
/// Words for what was printed elsewhere: the heading of a section, not a grid's title.
pub(super) static ANSWERS: Words = words!(
    "solution solutions answer answers lösung lösungen auflösung auflösungen antwort antworten réponse réponses respuesta respuestas risposta risposte \
    resposta respostas antwoord antwoorden lösning løsning ratkaisu soluzione soluzioni solución soluciones solução soluções oplossing oplossingen \
    yesterday gestern ответы решения решение відповіді розв язки відповідь rozwiązania rozwiązanie lösningar løsninger řešení výsledky ratkaisut çözümler \
    çözüm megfejtések megoldás"
);
/// Names of months, likewise: a number beside one is a date.
static MONTHS: Words = words!(
    "january february march april may june july august september october november december jan feb apr aug sept oct nov dec janvier février mars avril mai \
    juin juillet août septembre octobre novembre décembre januar februar märz juni juli oktober dezember gennaio febbraio marzo aprile maggio giugno \
    luglio agosto settembre ottobre dicembre enero febrero abril mayo junio julio septiembre octubre noviembre diciembre januari februari maart mei \
    augustus maj augusti marts"
);
/// Whether a word, in small letters, is a month's name.
pub(super) fn is_month(word: &str) -> bool {
    MONTHS.contains(&word)
}

/// Whether a word, in small letters, is one of titles.
pub(super) fn is_title(word: &str) -> bool {
    TITLES.contains(&word) || DAYS.contains(&word)
}

/// Short words beside titles and numbers.
static SMALL_WORDS: Words = words!("no nr the le la les du il lo el los das der die o os de het");

/// All of them, sorted, in the reader's letters: Cyrillic words in small letters and as capitals look.
static KNOWN: LazyLock<Vec<Vec<char>>> = LazyLock::new(|| {
    let all = [&HARDNESS, &TITLES, &ANSWERS, &DAYS, &MONTHS, &SMALL_WORDS];
    let ways = |word: &str| [folded(word), folded(&word.to_uppercase()).to_lowercase()];
    let mut known: Vec<Vec<char>> =
        all.iter().flat_map(|words| words.iter()).flat_map(|word| ways(word)).map(|word| word.chars().collect()).collect();
    known.sort_unstable();
    known.dedup();
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

/// The known word that a word of five letters or more, with two letters in seven misread, lost or added, can only be, in the same capitals; `None` where it
/// is known itself.
pub(super) fn nearest(word: &str) -> Option<String> {
    const SHORTEST: usize = 5;
    const MISREAD: (usize, usize) = (2, 7);
    let small: Vec<char> = word.to_lowercase().chars().collect();
    let most = small.len() * MISREAD.0 / MISREAD.1;
    if small.len() < SHORTEST || !word.chars().all(char::is_alphabetic) || begins_known_word(&small, false) {
        return None;
    }
    let near = |known: &&Vec<char>| known.len() >= SHORTEST && known.len().abs_diff(small.len()) <= most;
    let mut least: Vec<(usize, &Vec<char>)> =
        KNOWN.iter().filter(near).map(|known| (apart(&small, known), known)).filter(|(steps, _)| *steps <= most).collect();
    least.sort();
    let (steps, known) = *least.first()?;
    if least.get(1).is_some_and(|(other, _)| *other == steps) {
        return None;
    }
    let known: String = known.iter().collect();
    let mut letters = word.chars();
    Some(match (letters.next()?.is_uppercase(), letters.all(char::is_uppercase)) {
        (true, true) => known.to_uppercase(),
        (true, false) => capitalised(&known),
        _ => known,
    })
}

/// A word with its first letter a capital.
pub(super) fn capitalised(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}

/// In how many letters two words differ, those that one has more counted (Levenshtein 1966).
fn apart(one: &[char], other: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (i, a) in one.iter().enumerate() {
        let mut before = row[0];
        row[0] = i + 1;
        for (j, b) in other.iter().enumerate() {
            let here = (before + usize::from(a != b)).min(row[j] + 1).min(row[j + 1] + 1);
            before = row[j + 1];
            row[j + 1] = here;
        }
    }
    row[other.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_known_by_their_beginning_and_whole() {
        let known = |word: &str, begun| begins_known_word(&word.chars().collect::<Vec<_>>(), begun);
        assert!(known("SUD", true) && known("Sudoku", false) && known("LÖSUNG", false) && known("difficulté", false));
        assert!(!known("sud", false) && !known("Orchard", true));
    }

    #[test]
    fn a_misread_word_is_the_known_one_that_it_can_only_be() {
        for (read, meant) in [("Scluton", "Solution"), ("GRILIE", "GRILLE"), ("Reilla", "Rejilla"), ("schemo", "schema")] {
            assert_eq!(nearest(read).as_deref(), Some(meant));
        }
        for known_or_far in ["Solution", "Grille", "Orchard", "Gril", "No", "Saudion"] {
            assert_eq!(nearest(known_or_far), None, "{known_or_far}");
        }
    }
}
