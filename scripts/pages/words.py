"""Running text for the pages: everyday words of seven languages, headings, labels, difficulty words. Latin-1 letters only."""

WORDS = {
    "en": "the a of and to in is it that was for on are with as they at be this have from or one had by word but not what all were we when your can said there use an each which she do how their if will up other about out many then them these so some her would make like him into time has look two more write go see number no way could people my than first water been call who oil its now find long down day did get come made may part morning garden market council harbour orchard kitchen teacher season winter".split(),
    "fr": "le la de et les des en un une que est pour qui dans par plus pas au sur se il ce avec tout mais nous sont ont elle fait comme été être même aussi bien deux sans peut leur très avant après entre année jour temps homme femme ville maison école grille chaque chiffre ligne colonne carré seule fois complétez jeux soir matin marché jardin hiver président région".split(),
    "de": "der die und das in zu den mit von für ist auf nicht ein eine als auch es an werden aus er hat dass sie nach wird bei einer um am sind noch wie über einem so zum war haben nur oder aber vor zur bis mehr durch man sein wurde sei Jahr Stadt Haus Schule Garten Woche Zahlen Felder jede Zeile Spalte Rätsel Lösung leicht Morgen Straße Bürger Gemeinde Wetter".split(),
    "it": "il la di che e in un è per una non sono con si da come io questo qui ho lo ma ha le ti hai bene anche della più nel alla tutto solo dopo anni giorno casa città scuola numero riga colonna ogni gioco mattina mercato giardino inverno stagione perché così già".split(),
    "es": "el la de que y a en un ser se no haber por con su para como estar tener le lo todo pero más hacer poder decir este ir otro ese si me ya ver porque dar cuando muy sin vez mucho saber sobre mismo año casa ciudad escuela número fila columna cada juego mañana mercado jardín invierno".split(),
    "pt": "o de a e do da em um para é com não uma os no se na por mais as dos como mas foi ao ele das tem à seu sua ou ser quando muito há nos já está eu também só pelo até isso casa cidade escola número linha coluna cada jogo manhã mercado jardim inverno".split(),
    "nl": "de het een van en in is dat op te zijn met voor niet aan er om ook als dan maar bij nog uit door over ze zich hij had naar heeft hebben deze tot werd wordt jaar stad huis school tuin week cijfers rij kolom elk vak puzzel oplossing morgen markt winter seizoen".split(),
}
TITLES = {
    "en": ("Sudoku", "SUDOKU", "Number place", "Puzzle", "Brain work", "Numbers", "Today's puzzle", "Weekend puzzle", "Break", "The grid"),
    "fr": ("Sudoku", "LE SUDOKU", "Grille", "Les jeux", "Grille du jour", "Jeux"),
    "de": ("Sudoku", "SUDOKU", "Zahlenrätsel", "Rätsel", "Denksport", "Kopfnuss"),
    "it": ("Sudoku", "SUDOKU", "Il gioco", "Giochi", "Schema"),
    "es": ("Sudoku", "SUDOKU", "Pasatiempos", "Juego"),
    "pt": ("Sudoku", "SUDOKU", "Passatempo", "Jogo"),
    "nl": ("Sudoku", "SUDOKU", "Puzzel", "Cijferpuzzel"),
}
PUZZLES = {"en": "Puzzle", "fr": "Grille", "de": "Rätsel", "it": "Schema", "es": "Sudoku", "pt": "Sudoku", "nl": "Puzzel"}
# What a number beside them counts.
THINGS = {
    "en": ("Exercise", "Game", "Grid", "Round", "Day", "Task", "Board", "Week", "Problem"),
    "fr": ("Exercice", "Jeu", "Jour", "Énigme", "Problème"),
    "de": ("Übung", "Spiel", "Tag", "Aufgabe", "Gitter"),
    "it": ("Esercizio", "Gioco", "Giorno", "Enigma"),
    "es": ("Ejercicio", "Juego", "Día", "Problema"),
    "pt": ("Exercício", "Jogo", "Dia", "Problema"),
    "nl": ("Oefening", "Spel", "Dag", "Opgave"),
}
DAYS = {
    "en": ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"),
    "fr": ("lundi", "mardi", "mercredi", "jeudi", "vendredi", "samedi", "dimanche"),
    "de": ("Montag", "Dienstag", "Mittwoch", "Donnerstag", "Freitag", "Samstag", "Sonntag"),
    "it": ("lunedì", "martedì", "mercoledì", "giovedì", "venerdì", "sabato", "domenica"),
    "es": ("lunes", "martes", "miércoles", "jueves", "viernes", "sábado", "domingo"),
    "pt": ("Segunda", "Terça", "Quarta", "Quinta", "Sexta", "Sábado", "Domingo"),
    "nl": ("maandag", "dinsdag", "woensdag", "donderdag", "vrijdag", "zaterdag", "zondag"),
}
LEVELS = {
    "en": ("easy", "medium", "hard", "very hard", "gentle", "tough", "Level 1", "Level 4", "moderate", "extreme", "simple", "expert", "tricky", "challenging", "fiendish", "beginner"),
    "fr": ("facile", "moyen", "difficile", "expert", "Difficulté : 1/3", "Difficulté : 3/3", "niveau 2", "extrême", "simple", "très facile"),
    "de": ("leicht", "mittel", "schwer", "schwierig", "sehr schwer", "Stufe 3", "extrem", "einfach", "mittelschwer", "knifflig"),
    "it": ("facile", "medio", "difficile", "esperto", "semplice", "estremo"),
    "es": ("fácil", "medio", "difícil", "experto", "sencillo", "extremo"),
    "pt": ("fácil", "médio", "difícil", "simples", "extremo"),
    "nl": ("makkelijk", "gemiddeld", "moeilijk", "zwaar", "extreem", "eenvoudig", "lastig"),
}
ANSWERS = {"en": ("Solutions", "Answers", "Yesterday's solution", "Solution"), "fr": ("Solutions", "SOLUTIONS DES JEUX", "Solution d'hier"),
           "de": ("Lösungen", "Auflösung", "Lösung von gestern"), "it": ("Soluzioni", "Soluzione"), "es": ("Soluciones", "Solución"),
           "pt": ("Soluções", "Solução"), "nl": ("Oplossingen", "Oplossing")}


def language(rng):
    names = list(WORDS)
    return names[rng.choice(len(names), p=(0.3, 0.18, 0.18, 0.1, 0.1, 0.06, 0.08))]


def words(rng, tongue, count):
    pool = WORDS[tongue]
    out = [pool[i] for i in rng.integers(len(pool), size=count)]
    for start in [0, *np_starts(rng, count)]:
        if start < count:
            out[start] = out[start].capitalize()
            if start:
                out[start - 1] += "."
    return out


def np_starts(rng, count):
    """Where sentences start: every 5 to 16 words."""
    at, out = 0, []
    while at < count:
        at += int(rng.integers(5, 17))
        out.append(at)
    return out


def heading(rng, tongue):
    return " ".join(words(rng, tongue, int(rng.integers(1, 6)))).rstrip(".")


def shouted(text):
    """In capitals, of which ß has none."""
    return text.upper().replace("ß", "SS")


POINTS = {"en": ("points", "pts", "P", "min"), "de": ("Punkte", "P.", "P", "Min."), "fr": ("points", "pts", "min"), "it": ("punti", "P", "min"),
          "es": ("puntos", "P", "min"), "nl": ("punten", "P", "min")}


def level_of(rng, tongue):
    """How hard a puzzle is, as printed by it, or what it is worth in points or minutes."""
    if rng.random() < 0.25:
        units = POINTS.get(tongue, POINTS["en"])
        return f"{5 * rng.integers(1, 21) if rng.random() < 0.7 else rng.integers(2, 60)}{' ' * int(rng.random() < 0.85)}{units[rng.integers(len(units))]}"
    level = LEVELS[tongue][rng.integers(len(LEVELS[tongue]))]
    return (level, level.capitalize(), shouted(level))[rng.choice(3, p=(0.4, 0.35, 0.25))]


def label(rng, tongue, number, manner):
    """The text by a grid in one of many manners; `number` runs on along the page. None for a grid without a label."""
    level = LEVELS[tongue][rng.integers(len(LEVELS[tongue]))]
    title = TITLES[tongue][rng.integers(len(TITLES[tongue]))]
    # The same all along a page, whose numbers run on.
    thing, letter = THINGS[tongue][number // 50 % len(THINGS[tongue])], "SABHKMEGPRTDLCXN"[number // 50 % 16]
    name = " ".join(word.capitalize() for word in heading(rng, tongue).replace(".", "").split()[:2 - number // 50 % 2])
    day = DAYS[tongue][number % 7]
    if tongue == "en" and number // 50 % 2:
        day = day[:3].upper() if number // 50 % 4 == 1 else day[:3]
    numeral = "Nr." if tongue in ("de", "nl") else "Núm." if tongue in ("es", "pt") else "Num."
    mark = "No" if tongue in ("en", "it", "es") else "Nr" if tongue in ("de", "nl") else "N°"
    return {
        "number": f"{number}", "dot": f"{number}.", "no": f"{mark}. {number}" if mark != "N°" else f"N° {number}", "hash": f"#{number}",
        "letter": f"{'ABCDEFGH'[number % 8]}-{number}", "level": level, "upper": level.upper(), "title": title,
        "title number": f"{title} {number}", "title hash": f"{title} #{number}", "puzzle": f"{PUZZLES[tongue]} {number}",
        "bracket": f"{number})", "level number": f"{level.capitalize()} {number}",
        "title level": f"{title} - {level}", "paren": f"({number})", "padded": f"{number:03d}", "colon": f"{title}: {level}",
        "letter only": "ABCDEFGHIJKL"[number % 12], "none": None, "letter number": f"{letter}{number}", "thing": f"{thing} {number}", "day": day,
        "part": f"{number // 50 % 9 + 1}-{number}", "level part": f"{level.split(' ')[0].capitalize()} {number // 50 % 9 + 1}-{number}",
        "sign": f"{'Nº' if number // 50 % 2 else 'No'} {number}", "square": f"[{number}]", "roman": roman(number % 99 + 1), "letter dot": f"{letter}.{number}",
        "numeral": f"{numeral} {number}", "ending": f"{mark}. {number}:", "slash": f"{number}/{number // 50 % 9 + 1}",
        "thing letter": f"{thing} {'ABCDEFGHIJKLMNOPQRSTUVWXYZ'[number % 26]}", "words": shouted(name) if number // 50 % 4 == 1 else name,
    }[manner]


def roman(number):
    """A number below 400 in Roman numerals."""
    text = ""
    for value, sign in ((100, "C"), (90, "XC"), (50, "L"), (40, "XL"), (10, "X"), (9, "IX"), (5, "V"), (4, "IV"), (1, "I")):
        text += sign * (number // value)
        number %= value
    return text


# Manners and their shares.
MANNERS = {"square": 0.03, "roman": 0.03, "letter dot": 0.02, "numeral": 0.02, "ending": 0.01, "slash": 0.01, "thing letter": 0.01, "words": 0.03,
           "letter number": 0.03, "thing": 0.05, "day": 0.03, "part": 0.02, "level part": 0.02, "sign": 0.03, "number": 0.1, "dot": 0.07, "no": 0.07, "hash": 0.04, "letter": 0.06, "level": 0.05, "upper": 0.03, "title": 0.04, "title number": 0.06, "title hash": 0.02, "puzzle": 0.03,
           "bracket": 0.03, "level number": 0.04, "title level": 0.03, "paren": 0.04, "padded": 0.03, "colon": 0.02, "letter only": 0.03, "none": 0.03}
# Manners that print no more than how hard the puzzle is: that tells no grid from another, so the truth has no label there.
NO_LABELS = ("level", "upper")
