//! What is looked for at the screen and done at the desk: the find box says with which command.

/// Something that only a command does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AtTheDesk {
    /// What is done.
    pub title: &'static str,
    /// What a cellar says for it.
    pub also: &'static str,
    /// How it is done.
    pub how: &'static str,
}

/// What the find box knows of the desk.
pub const AT_THE_DESK: [AtTheDesk; 7] = [
    AtTheDesk {
        title: "Print a page",
        also: "print report sheet paper card work sheet clipboard wall",
        how: "Pages to print come from the desk: barrelwalk sheet --help.",
    },
    AtTheDesk {
        title: "Care of empty barrels",
        also: "rinse wash steam soak sulfur wick empty empties",
        how: "The care of empties is planned at the desk (barrelwalk plan care --begin); its work is then walked from the works.",
    },
    AtTheDesk {
        title: "A blend of tanks",
        also: "blend blending ratio batch blend order reserve what is left sign off",
        how: "A blend is planned at the desk (barrelwalk plan blend, or trial blend) and walked from the works.",
    },
    AtTheDesk {
        title: "Set a trial",
        also: "trial blend trial glasses design panel codes",
        how: "A trial is laid out at the desk (barrelwalk trial set); the page Blind at the bench shows it, rates its glasses and reveals it.",
    },
    AtTheDesk {
        title: "Bring two laptops together",
        also: "merge sync hub bundle second laptop no signal network",
        how: "What two laptops entered is brought together at the desk: barrelwalk merge, meet or sync.",
    },
    AtTheDesk {
        title: "Give out the records",
        also: "inspector audit export csv spreadsheet records tax",
        how: "The records are given out at the desk: barrelwalk export, and export --csv FOLDER for spreadsheets.",
    },
    AtTheDesk {
        title: "Keep a safe copy",
        also: "backup copy disk lost",
        how: "A safe copy is made at the desk while the cellar is open: barrelwalk backup.",
    },
];
