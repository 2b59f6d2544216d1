//! Acidities as a house reads them. They are kept as tartaric and as acetic acid; laboratories give them as those, as sulfuric acid or in
//! milliequivalents, and a house reads and writes them as its own does.

use std::fmt::Display;

use super::Analyte;
use crate::cellar::core::state::State;
use crate::reckon::acid_unit::AcidUnit;
use crate::reckon::limits::Subject;
use crate::units::DecimalMark;

/// How values of something that is tested are read in a house.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReadAs {
    analyte: Analyte,
    /// As which acid; none of what is no acidity.
    acid: Option<AcidUnit>,
}

impl Analyte {
    /// As which acid an acidity is kept; none of what is none.
    #[must_use]
    pub const fn own_acid(self) -> Option<AcidUnit> {
        match self {
            Analyte::TitratableAcidity => Some(AcidUnit::Tartaric),
            Analyte::VolatileAcidity => Some(AcidUnit::Acetic),
            _ => None,
        }
    }

    /// As which acid it is given where somebody says which it is of all acidities; as its own where that is not sulfuric, or nobody says.
    #[must_use]
    pub const fn given_as(self, said: Option<AcidUnit>) -> Option<AcidUnit> {
        match (self.own_acid(), said) {
            (Some(_), Some(acid @ (AcidUnit::Sulfuric | AcidUnit::Meq))) => Some(acid),
            (own, _) => own,
        }
    }

    /// How it is read where a house reads acidities so.
    #[must_use]
    pub const fn read_as(self, house: Option<AcidUnit>) -> ReadAs {
        ReadAs { analyte: self, acid: self.given_as(house) }
    }

    /// What a limit is of.
    #[must_use]
    pub const fn of_subject(subject: Subject) -> Analyte {
        match subject {
            Subject::VolatileAcidity => Analyte::VolatileAcidity,
            Subject::TotalSulfurDioxide => Analyte::TotalSo2,
        }
    }
}

impl ReadAs {
    /// By how much a value that is kept is multiplied.
    fn factor(self) -> f64 {
        let pair = self.analyte.own_acid().zip(self.acid).filter(|(own, acid)| own != acid);
        pair.map_or(1.0, |(own, acid)| acid.equivalent_grams() / own.equivalent_grams())
    }

    /// A value as it is read, not rounded.
    #[must_use]
    pub fn turned(self, kept: f64) -> f64 {
        kept * self.factor()
    }

    /// A value as it is kept, of one that is read as an acid, or as the house reads it where none is said.
    #[must_use]
    pub fn kept(self, read: f64, acid: Option<AcidUnit>) -> f64 {
        let pair = self.analyte.own_acid().zip(acid.or(self.acid)).filter(|(own, acid)| own != acid);
        pair.map_or(read, |(own, acid)| read * own.equivalent_grams() / acid.equivalent_grams())
    }

    /// Whether it is an acidity, which is given as several acids.
    #[must_use]
    pub const fn is_acidity(self) -> bool {
        self.analyte.own_acid().is_some()
    }

    /// Whether it is read otherwise than it is kept.
    #[must_use]
    pub fn is_turned(self) -> bool {
        self.acid != self.analyte.own_acid()
    }

    /// A value as it is read; what is turned is rounded as laboratories report it, to a hundredth, in milliequivalents to a tenth.
    #[must_use]
    pub fn value(self, kept: f64) -> f64 {
        if !self.is_turned() {
            return kept;
        }
        let scale = 10_f64.powi(i32::try_from(self.decimals()).unwrap_or(2));
        (self.turned(kept) * scale).round() / scale
    }

    /// To how many decimals an acidity is told.
    #[must_use]
    pub const fn decimals(self) -> usize {
        if matches!(self.acid, Some(AcidUnit::Meq)) { 1 } else { 2 }
    }

    /// A value to as many decimals, without its unit: `0.90`, `0.74`, `15.0`.
    #[must_use]
    pub fn fixed(self, kept: f64) -> String {
        DecimalMark::customary().written(&format!("{:.*}", self.decimals(), self.turned(kept)))
    }

    /// The unit, which names the acid: `g/L as acetic`, `meq/L`.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self.acid {
            Some(acid) => acid.unit(),
            None => self.analyte.unit(),
        }
    }

    /// The same in little room: `g/L H2SO4`.
    #[must_use]
    pub const fn short_unit(self) -> &'static str {
        match self.acid {
            Some(acid) => acid.short_unit(),
            None => self.analyte.unit(),
        }
    }

    /// A number that is read with its unit.
    #[must_use]
    pub fn with_unit(self, number: impl Display) -> String {
        match self.unit() {
            "" => number.to_string(),
            unit => format!("{number} {unit}"),
        }
    }
}

impl State {
    /// How this house reads something that is tested.
    #[must_use]
    pub const fn read_as(&self, analyte: Analyte) -> ReadAs {
        analyte.read_as(self.practice.acid_unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Regulation (EU) 2019/934 prints 18 and 20 meq/L; as acetic (60 g in 1,000 meq) they are 1.08 and 1.20 g/L, as sulfuric (49 g) 0.88
    /// and 0.98. Tartaric has 75 g (OIV-MA-AS313-01 and 313-02): 5.4 g/L are 72 meq/L and 3.53 g/L as sulfuric.
    #[test]
    fn an_acidity_is_read_as_the_house_reads_it() {
        let read = |analyte: Analyte, house, kept| {
            let read = analyte.read_as(house);
            format!("{} {}", read.fixed(kept), read.unit())
        };
        let va = Analyte::VolatileAcidity;
        assert_eq!(read(va, None, 1.08), "1.08 g/L as acetic");
        assert_eq!(read(va, Some(AcidUnit::Tartaric), 1.08), "1.08 g/L as acetic");
        assert_eq!(read(va, Some(AcidUnit::Sulfuric), 1.08), "0.88 g/L as sulfuric");
        assert_eq!(read(va, Some(AcidUnit::Sulfuric), 1.2), "0.98 g/L as sulfuric");
        assert_eq!(read(va, Some(AcidUnit::Meq), 1.08), "18.0 meq/L");
        assert_eq!(read(va, Some(AcidUnit::Meq), 1.2), "20.0 meq/L");
        let ta = Analyte::TitratableAcidity;
        assert_eq!(read(ta, Some(AcidUnit::Acetic), 5.4), "5.40 g/L as tartaric");
        assert_eq!(read(ta, Some(AcidUnit::Sulfuric), 5.4), "3.53 g/L as sulfuric");
        assert_eq!(read(ta, Some(AcidUnit::Meq), 5.4), "72.0 meq/L");
        // What is no acidity, and what is read as it is kept, is told as it is.
        let ph = Analyte::Ph.read_as(Some(AcidUnit::Meq));
        assert_eq!((ph.value(3.523), ph.with_unit(3.5)), (3.523, "3.5".to_owned()));
        assert!(!ph.is_turned() && (va.read_as(None).value(0.456) - 0.456).abs() < 1e-12);
    }
}
