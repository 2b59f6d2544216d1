//! What the columns of each kind of table are called: in English, French, Spanish, Italian and German, as cellars head them.
//!
//! Words are compared without case, marks, blanks and signs, and without a unit behind them. A word stands at one field of a table only.

mod dated;

use super::head::Head;
use super::values::Values;
use super::{Answers, Proposal, barrels, wine};
use crate::cellar::core::state::State;

pub use self::dated::{TASTES, TESTS, TOPPINGS};

/// A column that a table may have.
#[derive(Debug)]
pub struct Field {
    /// Its name, as `--column` and the answers in JSON say it.
    pub name: &'static str,
    /// What its head may be.
    pub words: &'static [&'static str],
    /// What its cells hold.
    pub holds: Holds,
}

/// What the cells of a column hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    /// Words.
    Words,
    /// A number, with or without a unit.
    Number,
    /// A date.
    Date,
}

/// How the lines of a table become facts.
pub type Read = fn(&Head<'_>, &Values, &Answers, &State, &mut Proposal);

/// A kind of table.
#[derive(Debug)]
pub struct Table {
    /// Its name.
    pub name: &'static str,
    /// The columns that it may have.
    pub fields: &'static [Field],
    /// So many of them, from the first, name what a line is of: it says one of them at least, or is none.
    pub names: usize,
    /// Whether it has columns for what only this house has its wines tested for, and may lie on its side: then what is tested stands in
    /// the rows.
    pub house: bool,
    /// What its lines become.
    pub read: Read,
    /// Heads that mean one field or another, by what stands below them.
    pub either: &'static [Either],
}

/// Heads of columns that hold numbers in one house and words in another: a French `Note` is a score or a remark.
#[derive(Debug)]
pub struct Either {
    /// What the head may be.
    pub words: &'static [&'static str],
    /// The field that it is where numbers stand below it.
    pub of_numbers: &'static str,
    /// The field that it is where words do.
    pub of_words: &'static str,
}

impl Table {
    /// The columns of which one names what a line is of.
    #[must_use]
    pub fn naming(&self) -> &'static [Field] {
        self.fields.get(..self.names).unwrap_or(self.fields)
    }
}

const fn words(name: &'static str, words: &'static [&'static str]) -> Field {
    Field { name, words, holds: Holds::Words }
}

const fn number(name: &'static str, words: &'static [&'static str]) -> Field {
    Field { name, words, holds: Holds::Number }
}

const fn date(name: &'static str, words: &'static [&'static str]) -> Field {
    Field { name, words, holds: Holds::Date }
}

/// What a vessel's own name is headed by.
const VESSEL: &[&str] = &[
    "vessel",
    "barrel",
    "barrels",
    "barrel no",
    "barrel number",
    "barrel id",
    "barrel label",
    "cask",
    "no",
    "nr",
    "number",
    "label",
    "id",
    "tag",
    "code",
    "barcode",
    "fût",
    "n fût",
    "no fût",
    "numéro",
    "numéro de fût",
    "numéro fût",
    "barrique",
    "n barrique",
    "numéro de barrique",
    "n",
    "étiquette",
    "barrica",
    "n barrica",
    "número",
    "número de barrica",
    "núm",
    "etiqueta",
    "barril",
    "botte",
    "barile",
    "fusto",
    "numero",
    "n barrique",
    "numero barrique",
    "etichetta",
    "codice",
    "fass",
    "fass nr",
    "fassnr",
    "fassnummer",
    "nummer",
    "kennung",
    "bezeichnung",
];
/// What a lot's is.
const LOT: &[&str] =
    &["lot", "wine", "batch", "cuvée", "vin", "lote", "vino", "partita", "lotto", "wein", "partie", "charge"];

/// A list of barrels.
pub static BARRELS: Table = Table {
    name: "barrels",
    read: barrels::read,
    either: &[],
    names: 1,
    house: false,
    fields: &[
        words("vessel", VESSEL),
        words(
            "place",
            &[
                "place",
                "location",
                "position",
                "emplacement",
                "ubicación",
                "posición",
                "posizione",
                "posto",
                "lagerplatz",
                "lagerort",
                "standort",
                "stellplatz",
            ],
        ),
        words(
            "room",
            &[
                "room",
                "cellar",
                "building",
                "salle",
                "chai",
                "cave",
                "local",
                "sala",
                "nave",
                "bodega",
                "cantina",
                "locale",
                "raum",
                "keller",
                "kellerraum",
            ],
        ),
        words("row", &["row", "line", "rang", "rangée", "file", "fila", "hilera", "riga", "filare", "reihe", "zeile"]),
        number(
            "stack",
            &[
                "stack", "bay", "column", "col", "pile", "travée", "colonne", "columna", "pila", "colonna", "stapel",
                "spalte",
            ],
        ),
        number(
            "tier",
            &[
                "tier", "level", "height", "high", "shelf", "niveau", "étage", "hauteur", "nivel", "altura", "piso",
                "livello", "piano", "altezza", "ebene", "lage", "etage", "höhe",
            ],
        ),
        words("side", &["side", "côté", "lado", "lato", "seite"]),
        words("type", &["type", "kind", "vessel type", "genre", "tipo", "art", "behälterart"]),
        number(
            "capacity",
            &[
                "capacity",
                "size",
                "volume",
                "litres",
                "liters",
                "content",
                "contenance",
                "capacité",
                "volume nominal",
                "litrage",
                "taille",
                "capacidad",
                "volumen",
                "litros",
                "tamaño",
                "capacità",
                "litri",
                "inhalt",
                "fassungsvermögen",
                "nennvolumen",
                "liter",
                "grösse",
                "fassgrösse",
                "gallons",
            ],
        ),
        words(
            "cooper",
            &[
                "cooper",
                "cooperage",
                "maker",
                "supplier",
                "tonnelier",
                "tonnellerie",
                "tonelero",
                "tonelería",
                "proveedor",
                "bottaio",
                "tonelleria",
                "fornitore",
                "küfer",
                "küferei",
                "böttcher",
                "fassbinder",
                "hersteller",
            ],
        ),
        words(
            "forest",
            &[
                "forest",
                "oak",
                "wood",
                "origin",
                "oak origin",
                "wood origin",
                "forêt",
                "bois",
                "chêne",
                "origine",
                "origine du bois",
                "bosque",
                "roble",
                "madera",
                "origen",
                "foresta",
                "bosco",
                "rovere",
                "legno",
                "wald",
                "eiche",
                "holz",
                "holzherkunft",
                "herkunft",
            ],
        ),
        words(
            "toast",
            &[
                "toast",
                "toasting",
                "toast level",
                "chauffe",
                "brûlage",
                "bousinage",
                "tostado",
                "tueste",
                "tostatura",
                "tostura",
                "toastung",
                "röstung",
                "toastgrad",
            ],
        ),
        words("grain", &["grain", "grano", "grana", "maserung", "körnung"]),
        words(
            "heads_toasted",
            &[
                "heads",
                "heads toasted",
                "toasted heads",
                "fonds chauffés",
                "fondos tostados",
                "fondi tostati",
                "böden getoastet",
            ],
        ),
        number(
            "seasoning_months",
            &[
                "seasoning",
                "seasoning months",
                "air dried",
                "drying",
                "séchage",
                "affinage",
                "mois de séchage",
                "secado",
                "meses de secado",
                "stagionatura",
                "mesi di stagionatura",
                "trocknung",
                "ablagerung",
                "monate trocknung",
            ],
        ),
        words("shape", &["shape", "format", "forme", "forma", "form", "fassform"]),
        number(
            "made",
            &[
                "made",
                "year",
                "year made",
                "bought",
                "year bought",
                "purchased",
                "purchase year",
                "year of purchase",
                "new in",
                "année",
                "an",
                "année d'achat",
                "millésime du fût",
                "año",
                "año de compra",
                "compra",
                "anno",
                "anno di acquisto",
                "acquisto",
                "jahr",
                "baujahr",
                "kaufjahr",
                "anschaffung",
                "anschaffungsjahr",
                "jahrgang fass",
            ],
        ),
        number(
            "fills",
            &[
                "fills",
                "earlier fills",
                "previous fills",
                "times filled",
                "uses",
                "times used",
                "number of uses",
                "wines",
                "vins",
                "nombre de vins",
                "nb de vins",
                "passages",
                "usos",
                "llenados",
                "número de usos",
                "vinos",
                "passaggi",
                "usi",
                "riempimenti",
                "vini",
                "belegungen",
                "füllungen",
                "vorbelegungen",
            ],
        ),
        number(
            "price",
            &["price", "cost", "paid", "prix", "coût", "precio", "coste", "costo", "prezzo", "preis", "kosten"],
        ),
        words(
            "stained",
            &["stained", "wine colour", "wine color", "colour", "color", "couleur", "colore", "farbe", "weinfarbe"],
        ),
        // What a barrel holds comes in with the list of wine.
        words("lot", LOT),
    ],
};

/// What lies in which vessel.
pub static WINE: Table = Table {
    name: "wine",
    read: wine::read,
    either: &[],
    names: 1,
    house: false,
    fields: &[
        words("vessel", VESSEL),
        words("lot", LOT),
        number(
            "litres",
            &[
                "volume",
                "litres",
                "liters",
                "content",
                "contents",
                "holds",
                "quantity",
                "amount",
                "filled",
                "volume actuel",
                "contenu",
                "quantité",
                "rempli",
                "litros",
                "contenido",
                "cantidad",
                "litri",
                "contenuto",
                "quantità",
                "liter",
                "inhalt",
                "menge",
                "gallons",
                "volumen",
            ],
        ),
        words("origin", &["origin", "source", "origine", "origen", "herkunft"]),
        words(
            "block",
            &[
                "block",
                "vineyard",
                "plot",
                "parcel",
                "field",
                "parcelle",
                "vigne",
                "vignoble",
                "parcela",
                "viñedo",
                "pago",
                "finca",
                "vigneto",
                "appezzamento",
                "particella",
                "parzelle",
                "weinberg",
                "lage",
            ],
        ),
        words(
            "variety",
            &[
                "variety", "grape", "grapes", "varietal", "cultivar", "cépage", "variedad", "uva", "cepa", "varietà",
                "vitigno", "rebsorte", "sorte", "traube",
            ],
        ),
        number(
            "vintage",
            &[
                "vintage",
                "year",
                "harvest",
                "crop",
                "millésime",
                "année",
                "récolte",
                "añada",
                "cosecha",
                "vendimia",
                "año",
                "annata",
                "vendemmia",
                "anno",
                "jahrgang",
                "jahr",
                "ernte",
            ],
        ),
        words(
            "appellation",
            &[
                "appellation",
                "region",
                "ava",
                "denomination",
                "aoc",
                "aop",
                "do",
                "denominación",
                "doc",
                "denominazione",
                "denominación de origen",
                "anbaugebiet",
                "herkunftsbezeichnung",
                "gebiet",
                "région",
                "región",
                "regione",
            ],
        ),
        words("colour", &["colour", "color", "couleur", "colore", "farbe", "weinfarbe", "wine colour", "wine color"]),
        date(
            "topped",
            &[
                "topped",
                "last topped",
                "last topping",
                "topped on",
                "date topped",
                "full on",
                "ouillé",
                "ouillé le",
                "ouillage",
                "dernier ouillage",
                "date d'ouillage",
                "date du dernier ouillage",
                "rellenado",
                "último relleno",
                "colmato",
                "ultima colmatura",
                "beigefüllt",
                "zuletzt beigefüllt",
            ],
        ),
        words(
            "owner",
            &[
                "owner",
                "client",
                "customer",
                "propriétaire",
                "propietario",
                "cliente",
                "proprietario",
                "besitzer",
                "eigentümer",
                "kunde",
            ],
        ),
    ],
};

/// Every kind of table that is taken in.
pub static TABLES: [&Table; 5] = [&BARRELS, &WINE, &TESTS, &TASTES, &TOPPINGS];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::material::plain;

    #[test]
    fn a_word_stands_at_one_field_of_a_table() {
        for table in TABLES {
            let mut seen: Vec<(String, &str)> = Vec::new();
            for field in table.fields {
                for word in field.words.iter().chain([&field.name]) {
                    let word = plain(word);
                    let other = seen.iter().find(|(known, name)| *known == word && *name != field.name);
                    assert_eq!(other, None, "{word} in {}", table.name);
                    seen.push((word, field.name));
                }
            }
        }
    }
}
