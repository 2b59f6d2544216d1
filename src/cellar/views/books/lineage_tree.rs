//! Lineage as a tree to look at: what flowed together for one reason is one branch, so that a lot of two hundred barrels
//! that came from one tank has one.
//!
//! **A lineage tree** gathers what flowed together by lot and reason, and draws each fill's own past once.

use rustc_hash::{FxHashMap, FxHashSet};

use super::lineage::{Fill, Flow, Receipt, Since, Stream, Tracer};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::units::Volume;

/// No branch is drawn further from the root than this.
const DEEPEST: usize = 9;

/// Whose lineage it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Whose {
    /// That of the wine in a vessel.
    Vessel(Label),
    /// That of all wine of a lot.
    Lot(Label),
}

impl Whose {
    /// Its label.
    #[must_use]
    pub const fn label(&self) -> &Label {
        match self {
            Whose::Vessel(label) | Whose::Lot(label) => label,
        }
    }
}

/// The lineage of a wine, both ways.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LineageTree {
    /// Where it came from, the most first.
    pub back: Vec<Branch>,
    /// Where it went, the most first.
    pub forward: Vec<Branch>,
}

/// Wine that flowed together, and where that came from or went.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Branch {
    /// What is at its other end.
    pub end: End,
    /// How much flowed.
    pub volume: Volume,
    /// How often.
    pub times: u32,
    /// When first.
    pub first: Moment,
    /// When last.
    pub last: Moment,
    /// What goes on from there.
    pub branches: Vec<Branch>,
    /// Why nothing goes on from there, where something would.
    pub cut: Option<Cut>,
}

/// Why a branch is not followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// What goes on from there stands at a branch above.
    Above,
    /// It is too far from the root.
    Far,
}

/// What is at the other end of a branch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum End {
    /// Vessels, each in one of its fills.
    Vessels {
        /// The vessel, where it is one.
        vessel: Option<Label>,
        /// How many there are.
        count: usize,
        /// The lot that they held.
        lot: Option<Label>,
        /// Why wine flowed.
        flow: Flow,
    },
    /// An origin: there it came into the book.
    Origin(Label),
}

/// Which way a tree grows.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    Back,
    Forward,
}

impl Tracer {
    /// The lineage of a vessel or lot both ways; none where nothing is called so.
    #[must_use]
    pub fn tree(&self, whose: &Whose) -> Option<LineageTree> {
        let (back, forward) = match whose {
            Whose::Vessel(label) => {
                let fill = self.fill_of(self.state.vessels.find(label.as_str())?);
                (vec![fill], vec![Since::from(fill)])
            }
            Whose::Lot(label) => {
                let lot = self.state.lots.find(label.as_str())?;
                let (now, ever) = (self.fills_now(lot), self.fills_ever(lot));
                (if now.is_empty() { ever.iter().map(|since| since.fill).collect() } else { now }, ever)
            }
        };
        let came = self.back(&back);
        let went = self.forward(&forward);
        let forward: Vec<Fill> = forward.iter().map(|since| since.fill).collect();
        Some(LineageTree {
            back: Grower::new(self, Way::Back, &came.streams, &came.receipts).tree(&back),
            forward: Grower::new(self, Way::Forward, &went, &[]).tree(&forward),
        })
    }
}

/// What a tree grows from, by the fill that it hangs on.
struct Grower<'a> {
    tracer: &'a Tracer,
    way: Way,
    streams: FxHashMap<Fill, Vec<&'a Stream>>,
    receipts: FxHashMap<Fill, Vec<&'a Receipt>>,
    seen: FxHashSet<Fill>,
}

impl<'a> Grower<'a> {
    fn new(tracer: &'a Tracer, way: Way, streams: &'a [Stream], receipts: &'a [Receipt]) -> Grower<'a> {
        let mut grower = Grower {
            tracer,
            way,
            streams: FxHashMap::default(),
            receipts: FxHashMap::default(),
            seen: FxHashSet::default(),
        };
        for stream in streams {
            let hangs_on = if way == Way::Back { stream.to } else { stream.from };
            grower.streams.entry(hangs_on).or_default().push(stream);
        }
        for receipt in receipts {
            grower.receipts.entry(receipt.into).or_default().push(receipt);
        }
        grower
    }

    fn tree(mut self, root: &[Fill]) -> Vec<Branch> {
        self.seen.extend(root);
        self.branches(root, 1)
    }

    fn branches(&mut self, fills: &[Fill], depth: usize) -> Vec<Branch> {
        let own: FxHashSet<Fill> = fills.iter().copied().collect();
        let mut branches = self.origins(&own);
        // In the order in which they are drawn, so that what is drawn once stands above where it is left out.
        let mut groups = self.groups(fills, &own);
        groups.sort_by_key(|group| std::cmp::Reverse(group.branch.volume));
        for group in groups {
            let goes_on = group.fills.iter().any(|fill| self.goes_on(*fill));
            let (further, cut) = if depth == DEEPEST {
                (Vec::new(), Some(Cut::Far))
            } else {
                let new: Vec<Fill> = group.fills.iter().copied().filter(|fill| self.seen.insert(*fill)).collect();
                (self.branches(&new, depth + 1), Some(Cut::Above))
            };
            branches.push(Branch {
                cut: cut.filter(|_| goes_on && further.is_empty()),
                branches: further,
                ..group.branch
            });
        }
        branches.sort_by_key(|branch| std::cmp::Reverse(branch.volume));
        branches
    }

    fn goes_on(&self, fill: Fill) -> bool {
        self.streams.contains_key(&fill) || self.receipts.contains_key(&fill)
    }

    /// What came into the book in some fills, by origin.
    fn origins(&self, fills: &FxHashSet<Fill>) -> Vec<Branch> {
        let mut branches: Vec<Branch> = Vec::new();
        for receipt in self.ordered(fills).iter().filter_map(|fill| self.receipts.get(fill)).flatten() {
            let end = End::Origin(self.tracer.state.origins.get(receipt.origin).0.origin.clone());
            match branches.iter_mut().find(|branch| branch.end == end) {
                Some(branch) => branch.take_in(receipt.volume, 1, receipt.at, receipt.at),
                None => branches.push(Branch::new(end, receipt.volume, 1, receipt.at, receipt.at)),
            }
        }
        branches
    }

    /// What flowed between some fills and others, by lot and reason; what flowed among them is no branch.
    fn groups(&self, fills: &[Fill], own: &FxHashSet<Fill>) -> Vec<Group> {
        let mut groups: Vec<Group> = Vec::new();
        let streams = fills.iter().filter_map(|fill| self.streams.get(fill)).flatten();
        for stream in streams {
            let other = if self.way == Way::Back { stream.from } else { stream.to };
            if own.contains(&other) {
                continue;
            }
            let lot = if self.way == Way::Back { stream.lot } else { self.tracer.last_name(other) };
            let kind = (lot, stream.flow);
            let at = groups.iter().position(|group| group.kind == kind).unwrap_or_else(|| {
                groups.push(Group::new(kind, stream));
                groups.len() - 1
            });
            let group = &mut groups[at];
            if !group.fills.contains(&other) {
                group.fills.push(other);
            }
            group.branch.take_in(stream.volume, stream.times, stream.first, stream.last);
        }
        for group in &mut groups {
            group.name(self.tracer);
        }
        groups
    }

    fn ordered(&self, fills: &FxHashSet<Fill>) -> Vec<Fill> {
        let mut ordered: Vec<Fill> = fills.iter().copied().filter(|fill| self.receipts.contains_key(fill)).collect();
        ordered.sort();
        ordered
    }
}

/// Fills that wine flowed from or to for one reason under one lot's name.
struct Group {
    kind: (Option<crate::cellar::core::state::LotId>, Flow),
    fills: Vec<Fill>,
    branch: Branch,
}

impl Group {
    fn new(kind: (Option<crate::cellar::core::state::LotId>, Flow), stream: &Stream) -> Group {
        let end = End::Vessels { vessel: None, count: 0, lot: None, flow: kind.1 };
        Group { kind, fills: Vec::new(), branch: Branch::new(end, Volume::ZERO, 0, stream.first, stream.last) }
    }

    fn name(&mut self, tracer: &Tracer) {
        let state = &tracer.state;
        let only = if let [fill] = self.fills.as_slice() { Some(fill) } else { None };
        self.branch.end = End::Vessels {
            vessel: only.map(|fill| state.vessels.get(fill.vessel).label.clone()),
            count: self.fills.len(),
            lot: self.kind.0.map(|lot| state.lots.get(lot).label.clone()),
            flow: self.kind.1,
        };
    }
}

impl Branch {
    fn new(end: End, volume: Volume, times: u32, first: Moment, last: Moment) -> Branch {
        Branch { end, volume, times, first, last, branches: Vec::new(), cut: None }
    }

    fn take_in(&mut self, volume: Volume, times: u32, first: Moment, last: Moment) {
        self.volume += volume;
        self.times += times;
        if first.instant() < self.first.instant() {
            self.first = first;
        }
        if last.instant() > self.last.instant() {
            self.last = last;
        }
    }
}
