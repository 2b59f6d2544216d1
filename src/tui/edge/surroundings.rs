//! What the environment says about the terminal, read once at the edge.

/// The few environment variables that decide how the screen may look. Empty is as good as absent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Surroundings {
    /// The person wishes no colour anywhere.
    pub no_color: bool,
    /// Characters beyond ASCII can be shown.
    pub unicode: bool,
}

impl Surroundings {
    /// Reads the environment of this process.
    #[must_use]
    pub fn read() -> Surroundings {
        Surroundings::of(|name| std::env::var_os(name).map(|value| value.to_string_lossy().into_owned()))
    }

    /// Judges an environment by its variables.
    #[must_use]
    pub fn of(variable: impl Fn(&str) -> Option<String>) -> Surroundings {
        let filled = |name: &str| variable(name).filter(|value| !value.is_empty());
        // The first that is set decides, as the C library does it.
        let locale = filled("LC_ALL").or_else(|| filled("LC_CTYPE")).or_else(|| filled("LANG")).unwrap_or_default();
        let utf8 = ["utf-8", "utf8"].iter().any(|name| locale.to_ascii_lowercase().ends_with(name));
        // The console of the Linux kernel has room for a few hundred glyphs only.
        let few_glyphs = filled("TERM").is_some_and(|terminal| terminal == "linux" || terminal == "dumb");
        Surroundings { no_color: filled("NO_COLOR").is_some(), unicode: utf8 && !few_glyphs }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(variables: &[(&str, &str)]) -> Surroundings {
        Surroundings::of(|name| variables.iter().find(|(set, _)| *set == name).map(|(_, value)| (*value).to_owned()))
    }

    #[test]
    fn the_first_locale_that_is_set_decides() {
        assert!(!of(&[]).unicode);
        assert!(of(&[("LANG", "fr_FR.UTF-8")]).unicode);
        assert!(of(&[("LANG", "C.utf8")]).unicode);
        assert!(of(&[("LANG", "C"), ("LC_CTYPE", "UTF-8")]).unicode);
        assert!(!of(&[("LANG", "fr_FR.UTF-8"), ("LC_ALL", "C")]).unicode);
        assert!(of(&[("LANG", "fr_FR.UTF-8"), ("LC_ALL", "")]).unicode);
        assert!(!of(&[("LANG", "de_DE.ISO-8859-1")]).unicode);
        assert!(!of(&[("LANG", "fr_FR.UTF-8"), ("TERM", "linux")]).unicode);
    }

    #[test]
    fn no_color_counts_when_it_says_anything() {
        assert!(!of(&[]).no_color);
        assert!(!of(&[("NO_COLOR", "")]).no_color);
        assert!(of(&[("NO_COLOR", "1")]).no_color);
        assert!(of(&[("NO_COLOR", "0")]).no_color);
    }
}
