"""Running text for the pages: everyday words of sixteen languages, headings, labels, difficulty words."""
import functools

WORDS = {
    "en": "the a of and to in is it that was for on are with as they at be this have from or one had by word but not what all were we when your can said there use an each which she do how their if will up other about out many then them these so some her would make like him into time has look two more write go see number no way could people my than first water been call who oil its now find long down day did get come made may part morning garden market council harbour orchard kitchen teacher season winter".split(),
    "fr": "le la de et les des en un une que est pour qui dans par plus pas au sur se il ce avec tout mais nous sont ont elle fait comme été être même aussi bien deux sans peut leur très avant après entre année jour temps homme femme ville maison école grille chaque chiffre ligne colonne carré seule fois complétez jeux soir matin marché jardin hiver président région".split(),
    "de": "der die und das in zu den mit von für ist auf nicht ein eine als auch es an werden aus er hat dass sie nach wird bei einer um am sind noch wie über einem so zum war haben nur oder aber vor zur bis mehr durch man sein wurde sei Jahr Stadt Haus Schule Garten Woche Zahlen Felder jede Zeile Spalte Rätsel Lösung leicht Morgen Straße Bürger Gemeinde Wetter".split(),
    "it": "il la di che e in un è per una non sono con si da come io questo qui ho lo ma ha le ti hai bene anche della più nel alla tutto solo dopo anni giorno casa città scuola numero riga colonna ogni gioco mattina mercato giardino inverno stagione perché così già".split(),
    "es": "el la de que y a en un ser se no haber por con su para como estar tener le lo todo pero más hacer poder decir este ir otro ese si me ya ver porque dar cuando muy sin vez mucho saber sobre mismo año casa ciudad escuela número fila columna cada juego mañana mercado jardín invierno".split(),
    "pt": "o de a e do da em um para é com não uma os no se na por mais as dos como mas foi ao ele das tem à seu sua ou ser quando muito há nos já está eu também só pelo até isso casa cidade escola número linha coluna cada jogo manhã mercado jardim inverno".split(),
    "nl": "de het een van en in is dat op te zijn met voor niet aan er om ook als dan maar bij nog uit door over ze zich hij had naar heeft hebben deze tot werd wordt jaar stad huis school tuin week cijfers rij kolom elk vak puzzel oplossing morgen markt winter seizoen".split(),
    "ru": "и в не на я он что как это с а то все она так его но да ты к у же вы за бы по только её мне было вот от меня ещё нет о из ему теперь когда даже ну если уже или быть был него до вас опять город дом школа сад зима утро рынок число строка столбец каждый игра жизнь объём цифра щенок съезд эхо юг".split(),
    "uk": "і в не на я що він як це з а то все вона так його але та ти до у же ви за би по тільки її мені було від мене ще немає із йому тепер коли навіть якщо вже або бути місто дім школа сад зима ранок ринок число рядок стовпець кожен гра життя єдиний їжак ґанок щастя".split(),
    "pl": "i w nie na się że to jest z do jak ale po co tak za od go już czy tylko jego był dla może przez są ich był które także więc bardzo rok dom szkoła ogród zima rano miasto liczba wiersz kolumna każdy gra życie świat źródło łąka".split(),
    "sv": "och i att det som en på är av för med till den har de inte om ett han men var jag sig från så kan när år under också efter eller nu där vid mot ska hus skola trädgård vinter morgon stad siffra rad kolumn varje spel".split(),
    "da": "og i at det er en til på som med for af de den ikke har et jeg var han der kan men vi fra så når år også efter eller nu ved mod skal hus skole have vinter morgen by tal række kolonne hvert spil få små æble øre".split(),
    "cs": "a se v na je že to s z do o k i si ale jako za by jsem tak pro jeho podle však až které nebo rok při být když už jen dům škola zahrada zima ráno město číslo řádek sloupec každý hra život světlo ještě těžký ďábel žluť".split(),
    "fi": "ja on ei se että oli hän mutta ovat kun myös niin tai joka jos vain sen mukaan vuonna kuin sitä jo nyt sekä hyvin vielä talo koulu puutarha talvi aamu kaupunki luku rivi sarake jokainen peli elämä yö".split(),
    "tr": "ve bir bu da ne için o ile de çok daha gibi ama var ben sen kadar sonra her olarak en olan ki mi değil önce şey ev okul bahçe kış sabah şehir sayı satır sütun oyun hayat ışık iyi gün yıl".split(),
    "hu": "a az és hogy nem is egy ez csak volt meg de már van mint még el ki kell vagy ha mert lesz után minden nagyon így úgy két ház iskola kert tél reggel város szám sor oszlop játék élet nő fű őszi tűz".split(),
}
TITLES = {
    "en": ("Sudoku", "SUDOKU", "Number place", "Puzzle", "Brain work", "Numbers", "Today's puzzle", "Weekend puzzle", "Break", "The grid"),
    "fr": ("Sudoku", "LE SUDOKU", "Grille", "Les jeux", "Grille du jour", "Jeux"),
    "de": ("Sudoku", "SUDOKU", "Zahlenrätsel", "Rätsel", "Denksport", "Kopfnuss"),
    "it": ("Sudoku", "SUDOKU", "Il gioco", "Giochi", "Schema", "Pausa caffè", "Numeri"),
    "es": ("Sudoku", "SUDOKU", "Pasatiempos", "Juego", "Números", "La cuadrícula"),
    "pt": ("Sudoku", "SUDOKU", "Passatempo", "Jogo"),
    "nl": ("Sudoku", "SUDOKU", "Puzzel", "Cijferpuzzel", "Denkwerk", "Puzzelhoek"),
    "ru": ("Судоку", "СУДОКУ", "Головоломка", "Числа", "Досуг", "Разминка", "Задача дня"),
    "uk": ("Судоку", "СУДОКУ", "Головоломка", "Дозвілля", "Числа"),
    "pl": ("Sudoku", "SUDOKU", "Łamigłówka", "Rozrywka", "Zagadka dnia", "Liczby"),
    "sv": ("Sudoku", "SUDOKU", "Pussel", "Dagens nöt", "Sifferpussel"),
    "da": ("Sudoku", "SUDOKU", "Opgaver", "Talgåde", "Dagens gåde"),
    "cs": ("Sudoku", "SUDOKU", "Hlavolam", "Křížem krážem", "Čísla", "Hádanka"),
    "fi": ("Sudoku", "SUDOKU", "Ristikko", "Päivän pähkinä", "Numerot"),
    "tr": ("Sudoku", "SUDOKU", "Bulmaca", "Günün bulmacası", "Sayılar"),
    "hu": ("Sudoku", "SUDOKU", "Rejtvény", "Fejtörő", "Számok", "Napi rejtvény"),
}
PUZZLES = {"en": "Puzzle", "fr": "Grille", "de": "Rätsel", "it": "Schema", "es": "Sudoku", "pt": "Sudoku", "nl": "Puzzel",
           "ru": "Задача", "uk": "Задача", "pl": "Zadanie", "sv": "Uppgift", "da": "Opgave", "cs": "Úloha", "fi": "Tehtävä", "tr": "Bulmaca", "hu": "Feladvány"}
# What a number beside them counts.
THINGS = {
    "en": ("Exercise", "Game", "Grid", "Round", "Day", "Task", "Board", "Week", "Problem"),
    "fr": ("Exercice", "Jeu", "Jour", "Énigme", "Problème"),
    "de": ("Übung", "Spiel", "Tag", "Aufgabe", "Gitter"),
    "it": ("Esercizio", "Gioco", "Giorno", "Enigma", "Griglia"),
    "es": ("Ejercicio", "Juego", "Día", "Problema", "Rejilla", "Tablero", "Cuadrícula"),
    "pt": ("Exercício", "Jogo", "Dia", "Problema", "Grelha", "Tabuleiro"),
    "nl": ("Oefening", "Spel", "Dag", "Opgave"),
    "ru": ("Задача", "Задание", "Сетка", "Игра", "День", "Упражнение", "Поле"),
    "uk": ("Задача", "Завдання", "Сітка", "Гра", "День", "Вправа"),
    "pl": ("Zadanie", "Diagram", "Plansza", "Dzień", "Ćwiczenie", "Łamigłówka"),
    "sv": ("Uppgift", "Spel", "Dag", "Övning", "Ruta"),
    "da": ("Opgave", "Spil", "Dag", "Øvelse", "Gåde"),
    "cs": ("Úloha", "Zadání", "Mřížka", "Hra", "Den", "Cvičení"),
    "fi": ("Tehtävä", "Peli", "Päivä", "Harjoitus", "Ruudukko"),
    "tr": ("Bulmaca", "Soru", "Oyun", "Gün", "Alıştırma"),
    "hu": ("Feladat", "Rejtvény", "Játék", "Nap", "Tábla", "Gyakorlat"),
}
DAYS = {
    "en": ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"),
    "fr": ("lundi", "mardi", "mercredi", "jeudi", "vendredi", "samedi", "dimanche"),
    "de": ("Montag", "Dienstag", "Mittwoch", "Donnerstag", "Freitag", "Samstag", "Sonntag"),
    "it": ("lunedì", "martedì", "mercoledì", "giovedì", "venerdì", "sabato", "domenica"),
    "es": ("lunes", "martes", "miércoles", "jueves", "viernes", "sábado", "domingo"),
    "pt": ("Segunda", "Terça", "Quarta", "Quinta", "Sexta", "Sábado", "Domingo"),
    "nl": ("maandag", "dinsdag", "woensdag", "donderdag", "vrijdag", "zaterdag", "zondag"),
    "ru": ("Понедельник", "Вторник", "Среда", "Четверг", "Пятница", "Суббота", "Воскресенье"),
    "uk": ("Понеділок", "Вівторок", "Середа", "Четвер", "П’ятниця", "Субота", "Неділя"),
    "pl": ("poniedziałek", "wtorek", "środa", "czwartek", "piątek", "sobota", "niedziela"),
    "sv": ("måndag", "tisdag", "onsdag", "torsdag", "fredag", "lördag", "söndag"),
    "da": ("mandag", "tirsdag", "onsdag", "torsdag", "fredag", "lørdag", "søndag"),
    "cs": ("pondělí", "úterý", "středa", "čtvrtek", "pátek", "sobota", "neděle"),
    "fi": ("maanantai", "tiistai", "keskiviikko", "torstai", "perjantai", "lauantai", "sunnuntai"),
    "tr": ("Pazartesi", "Salı", "Çarşamba", "Perşembe", "Cuma", "Cumartesi", "Pazar"),
    "hu": ("hétfő", "kedd", "szerda", "csütörtök", "péntek", "szombat", "vasárnap"),
}
LEVELS = {
    "en": ("easy", "medium", "hard", "very hard", "gentle", "tough", "Level 1", "Level 4", "moderate", "extreme", "simple", "expert", "tricky", "challenging", "fiendish", "beginner"),
    "fr": ("facile", "moyen", "difficile", "expert", "Difficulté : 1/3", "Difficulté : 3/3", "niveau 2", "extrême", "simple", "très facile"),
    "de": ("leicht", "mittel", "schwer", "schwierig", "sehr schwer", "Stufe 3", "extrem", "einfach", "mittelschwer", "knifflig"),
    "it": ("facile", "medio", "difficile", "esperto", "semplice", "estremo"),
    "es": ("fácil", "medio", "difícil", "muy difícil", "experto", "sencillo", "extremo"),
    "pt": ("fácil", "médio", "difícil", "simples", "extremo"),
    "nl": ("makkelijk", "gemiddeld", "moeilijk", "zwaar", "extreem", "eenvoudig", "lastig"),
    "ru": ("легко", "средне", "сложно", "лёгкий", "средний", "сложный", "очень сложно", "эксперт", "Уровень 2", "трудно"),
    "uk": ("легко", "середній", "складно", "важко", "дуже складно", "експерт", "Рівень 3"),
    "pl": ("łatwe", "średnie", "trudne", "bardzo trudne", "poziom 2", "ekspert"),
    "sv": ("lätt", "medel", "svår", "mycket svår", "nivå 3", "expert"),
    "da": ("let", "middel", "svær", "meget svær", "niveau 2"),
    "cs": ("lehké", "střední", "těžké", "velmi těžké", "snadné", "obtížné"),
    "fi": ("helppo", "keskitaso", "vaikea", "erittäin vaikea", "taso 3"),
    "tr": ("kolay", "orta", "zor", "çok zor", "seviye 2"),
    "hu": ("könnyű", "közepes", "nehéz", "nagyon nehéz", "haladó"),
}
ANSWERS = {"en": ("Solutions", "Answers", "Yesterday's solution", "Solution"), "fr": ("Solutions", "SOLUTIONS DES JEUX", "Solution d'hier"),
           "de": ("Lösungen", "Auflösung", "Lösung von gestern"), "it": ("Soluzioni", "Soluzione"), "es": ("Soluciones", "Solución"),
           "pt": ("Soluções", "Solução"), "nl": ("Oplossingen", "Oplossing"),
           "ru": ("Ответы", "Решения", "Решение"), "uk": ("Відповіді", "Розв’язки", "Відповідь"), "pl": ("Rozwiązania", "Rozwiązanie"),
           "sv": ("Lösningar", "Lösning"), "da": ("Løsninger", "Løsning"), "cs": ("Řešení", "Výsledky"), "fi": ("Ratkaisut", "Ratkaisu"),
           "tr": ("Çözümler", "Çözüm"), "hu": ("Megfejtések", "Megoldás")}
# What a number of the solutions stands behind.
ANSWER = {"en": "Solution", "fr": "Solution", "de": "Lösung", "it": "Soluzione", "es": "Solución", "pt": "Solução", "nl": "Oplossing", "ru": "Ответ",
          "uk": "Відповідь", "pl": "Rozwiązanie", "sv": "Lösning", "da": "Løsning", "cs": "Řešení", "fi": "Ratkaisu", "tr": "Çözüm", "hu": "Megoldás"}
WEEKS = {"en": "Week", "fr": "Semaine", "de": "Woche", "it": "Settimana", "es": "Semana", "pt": "Semana", "nl": "Week", "ru": "Неделя", "uk": "Тиждень",
         "pl": "Tydzień", "sv": "Vecka", "da": "Uge", "cs": "Týden", "fi": "Viikko", "tr": "Hafta", "hu": "Hét"}
# The usual sign before a number, and a longer one.
MARKS = {"en": ("No.", "Num."), "fr": ("N°", "Num."), "de": ("Nr.", "Nummer"), "it": ("No.", "Num."), "es": ("No.", "Núm."), "pt": ("N°", "Núm."),
         "nl": ("Nr.", "Nr."), "ru": ("№", "Номер"), "uk": ("№", "Номер"), "pl": ("Nr", "Numer"), "sv": ("Nr", "Nummer"), "da": ("Nr.", "Nummer"),
         "cs": ("č.", "Číslo"), "fi": ("Nro", "Numero"), "tr": ("No", "Sayı"), "hu": ("Sz.", "Szám")}
# What a reader fills in by a grid, the word for a page, and where the solution is told to stand.
FORMS = {"en": ("Name", "Date", "Time"), "fr": ("Nom", "Date", "Temps"), "de": ("Name", "Datum", "Zeit"), "it": ("Nome", "Data", "Tempo"),
         "es": ("Nombre", "Fecha", "Tiempo"), "pt": ("Nome", "Data", "Tempo"), "nl": ("Naam", "Datum", "Tijd"), "ru": ("Имя", "Дата", "Время"),
         "uk": ("Ім’я", "Дата", "Час"), "pl": ("Imię", "Data", "Czas"), "sv": ("Namn", "Datum", "Tid"), "da": ("Navn", "Dato", "Tid"),
         "cs": ("Jméno", "Datum", "Čas"), "fi": ("Nimi", "Päiväys", "Aika"), "tr": ("Ad", "Tarih", "Süre"), "hu": ("Név", "Dátum", "Idő")}
PAGES = {"en": "page", "fr": "page", "de": "Seite", "it": "pagina", "es": "página", "pt": "página", "nl": "pagina", "ru": "страница", "uk": "сторінка",
         "pl": "strona", "sv": "sida", "da": "side", "cs": "strana", "fi": "sivu", "tr": "sayfa", "hu": "oldal"}
ELSEWHERE = {"en": "Solution on page", "fr": "Solution page", "de": "Lösung auf Seite", "it": "Soluzione a pagina", "es": "Solución en la página",
             "pt": "Solução na página", "nl": "Oplossing op pagina", "ru": "Ответ на странице", "uk": "Відповідь на сторінці",
             "pl": "Rozwiązanie na stronie", "sv": "Lösning på sidan", "da": "Løsning på side", "cs": "Řešení na straně", "fi": "Ratkaisu sivulla",
             "tr": "Çözümü sayfa", "hu": "Megoldás az oldalon:"}
# Numbers of puzzles in Japanese stand on pages of other languages too: a few signs are all that is drawn of it.
ORDINALS = ("第{}問", "第 {} 問", "第{}回", "第{}", "第 {}", "問題{}", "問題 {}", "第{}号")


LANGUAGE_SHARES = (0.24, 0.13, 0.13, 0.08, 0.09, 0.05, 0.06, 0.06, 0.02, 0.03, 0.02, 0.02, 0.02, 0.02, 0.015, 0.015)


def language(rng):
    names = list(WORDS)
    return names[rng.choice(len(names), p=LANGUAGE_SHARES)]


@functools.lru_cache(None)
def letters(tongue):
    """All characters that a page of a language is set in, but for signs of single labels: its fonts must have them."""
    texts = [WORDS, TITLES, THINGS, DAYS, LEVELS, ANSWERS, FORMS, MARKS, POINTS]
    said = " ".join(" ".join(each[tongue]) for each in texts) + " ".join(each[tongue] for each in (PUZZLES, ANSWER, WEEKS, PAGES, ELSEWHERE))
    return frozenset(said + said.upper()) - frozenset("№°")


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
          "es": ("puntos", "P", "min"), "pt": ("pontos", "min"), "nl": ("punten", "P", "min"), "ru": ("баллов", "очков", "мин"), "uk": ("балів", "хв"),
          "pl": ("punktów", "pkt", "min"), "sv": ("poäng", "p", "min"), "da": ("point", "min"), "cs": ("bodů", "b.", "min"), "fi": ("pistettä", "p", "min"),
          "tr": ("puan", "dk"), "hu": ("pont", "perc")}


def level_of(rng, tongue):
    """How hard a puzzle is, as printed by it, what it is worth in points or minutes, or what else is told or asked there that is no label."""
    kind = rng.random()
    if kind < 0.2:
        units = POINTS[tongue]
        return f"{5 * rng.integers(1, 21) if rng.random() < 0.7 else rng.integers(2, 60)}{' ' * int(rng.random() < 0.85)}{units[rng.integers(len(units))]}"
    if kind < 0.32:
        return aside(rng, tongue)
    level = LEVELS[tongue][rng.integers(len(LEVELS[tongue]))]
    level = (level, level.capitalize(), shouted(level))[rng.choice(3, p=(0.4, 0.35, 0.25))]
    return level if kind < 0.93 or level[-1].isdigit() else f"{level} {rng.integers(1, 6)}"


def aside(rng, tongue):
    """What is asked of a reader or told to one beside a grid."""
    kind = rng.random()
    if kind < 0.55:
        form = FORMS[tongue][rng.integers(len(FORMS[tongue]))]
        line = str(rng.choice((":", ": ", ": " + "_" * int(rng.integers(4, 15)), ": " + "." * int(rng.integers(6, 25)))))
        return form + line.rstrip()
    if kind < 0.75:
        return f"{ELSEWHERE[tongue]} {rng.integers(2, 200)}"
    if kind < 0.85:
        time = f"{rng.integers(3, 60)}:{rng.integers(0, 60):02d}"
        return str(rng.choice((time, f"({time})", f"__:__ ({time})", f"{FORMS[tongue][2]}: {time}")))
    date = f"{rng.integers(1, 29):02d}.{rng.integers(1, 13):02d}.{rng.integers(1990, 2030)}"
    return f"{DAYS[tongue][rng.integers(7)]}, {date}" if rng.random() < 0.4 else date


def page_number(rng, tongue):
    """As printed at the foot or head of a page."""
    number, word = int(rng.integers(1, 330)), PAGES[tongue]
    return str(rng.choice((f"{number}", f"- {number} -", f"– {number} –", f"-{number}-", f"{word.capitalize()} {number}", f"{word[0]}. {number}", f"| {number} |", f"{number} | {TITLES[tongue][0]}"),
                          p=(0.57, 0.14, 0.06, 0.05, 0.08, 0.04, 0.03, 0.03)))


def label(rng, tongue, number, manner):
    """The text by a grid in one of many manners; `number` runs on along the page. None for a grid without a label."""
    level = LEVELS[tongue][rng.integers(len(LEVELS[tongue]))]
    title = TITLES[tongue][rng.integers(len(TITLES[tongue]))]
    # The same all along a page, whose numbers run on.
    part = number // 50
    thing, letter = THINGS[tongue][part % len(THINGS[tongue])], "SABHKMEGPRTDLCXN"[part % 16]
    name = " ".join(word.capitalize() for word in heading(rng, tongue).replace(".", "").split()[:2 - part % 2])
    day = DAYS[tongue][number % 7]
    of_week = f"{WEEKS[tongue]} {number // 7 + 1} {'–' if part % 4 == 3 else '-'} {day.capitalize()}"
    if tongue == "en" and part % 2:
        day = day[:3].upper() if part % 4 == 1 else day[:3]
    mark, numeral = MARKS[tongue]
    return {
        "number": f"{number}", "dot": f"{number}.", "no": f"{mark} {number}", "hash": f"#{number}",
        "letter": f"{'ABCDEFGH'[number % 8]}-{number}", "level": level, "upper": level.upper(), "title": title,
        "title number": f"{title} {number}", "title hash": f"{title} #{number}", "puzzle": f"{PUZZLES[tongue]} {number}",
        "bracket": f"{number})", "level number": f"{level.capitalize()} {number}",
        "title level": f"{title} - {level}", "paren": f"({number})", "padded": f"{number:03d}", "colon": f"{title}: {level}",
        "letter only": "ABCDEFGHIJKL"[number % 12], "none": None, "letter number": f"{letter}{number}", "thing": f"{thing} {number}", "day": day,
        "part": f"{part % 9 + 1}-{number}", "level part": f"{level.split(' ')[0].capitalize()} {part % 9 + 1}-{number}",
        "sign": f"{('No', 'Nº', 'No', 'Nº', 'No', 'Nº', 'No', '№')[part % 8]} {number}", "square": f"[{number}]", "roman": roman(number % 99 + 1), "letter dot": f"{letter}.{number}",
        "numeral": f"{numeral} {number}", "ending": f"{mark} {number}:", "slash": f"{number}/{part % 9 + 1}",
        "thing letter": f"{thing} {'ABCDEFGHIJKLMNOPQRSTUVWXYZ'[number % 26]}", "words": shouted(name) if part % 4 == 1 else name,
        "answer": f"{ANSWER[tongue]} {number}", "of": f"{number}/{(number // 100 + 1 + part % 2) * 100}", "week": of_week, "thing hash": f"{thing} #{number}",
        "ordinal": ORDINALS[part % len(ORDINALS)].format(number), "title mark": f"{title} {mark} {number}",
    }[manner]


def roman(number):
    """A number below 400 in Roman numerals."""
    text = ""
    for value, sign in ((100, "C"), (90, "XC"), (50, "L"), (40, "XL"), (10, "X"), (9, "IX"), (5, "V"), (4, "IV"), (1, "I")):
        text += sign * (number // value)
        number %= value
    return text


# Manners and their shares.
MANNERS = {"answer": 0.03, "of": 0.02, "week": 0.03, "thing hash": 0.015, "ordinal": 0.02, "title mark": 0.02, "square": 0.03, "roman": 0.03, "letter dot": 0.02, "numeral": 0.02, "ending": 0.01, "slash": 0.01, "thing letter": 0.01, "words": 0.03,
           "letter number": 0.03, "thing": 0.05, "day": 0.03, "part": 0.02, "level part": 0.02, "sign": 0.03, "number": 0.1, "dot": 0.07, "no": 0.07, "hash": 0.04, "letter": 0.06, "level": 0.05, "upper": 0.03, "title": 0.04, "title number": 0.06, "title hash": 0.02, "puzzle": 0.03,
           "bracket": 0.03, "level number": 0.04, "title level": 0.03, "paren": 0.04, "padded": 0.03, "colon": 0.02, "letter only": 0.03, "none": 0.03}
# Manners that print no more than how hard the puzzle is: that tells no grid from another, so the truth has no label there.
NO_LABELS = ("level", "upper")
