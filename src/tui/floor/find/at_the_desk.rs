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
pub const AT_THE_DESK: [AtTheDesk; 5] = [
    AtTheDesk {
        title: "Print a page",
        also: "print report sheet paper card",
        how: "Pages to print come from the desk: barrelwalk sheet --help.",
    },
    AtTheDesk {
        title: "Care of empty barrels",
        also: "rinse wash steam soak sulfur wick empty empties",
        how: "The care of empties is planned at the desk (barrelwalk plan care --begin); its work is then walked from the works.",
    },
    AtTheDesk {
        title: "Samples and tests",
        also: "sample test analysis laboratory malolactic",
        how: "Samples and tests are entered at the desk: barrelwalk record --help.",
    },
    AtTheDesk {
        title: "An addition",
        also: "addition acid nutrient tannin enzyme material",
        how: "Sulfur dioxide is begun from the works, a fining from the bench; any other addition is entered at the desk: barrelwalk record --help.",
    },
    AtTheDesk {
        title: "A blend of tanks",
        also: "blend blending ratio batch",
        how: "A blend is planned at the desk (barrelwalk plan blend, or trial blend) and walked from the works.",
    },
];
