//! temporary
use barrelwalk::cellar::fact::IncomingFact;
use barrelwalk::cellar::label::Label;
use barrelwalk::cellar::moment::Moment;
use barrelwalk::desk::{Access, Desk, IncomingLine};
use barrelwalk::tui::{
    driver,
    marks::Marks,
    model::{Looks, Model},
    surroundings::Surroundings,
    theme::{Palette, Theme},
    work::Hands,
};
fn main() -> anyhow::Result<()> {
    let path = std::path::PathBuf::from("/tmp/w/try/demo.cellar");
    std::fs::create_dir_all("/tmp/w/try")?;
    let now = Moment::now();
    if !path.exists() {
        Desk::create(&path, now)?;
        let mut desk = Desk::open(&path, Access::ReadWrite)?;
        let lines = include_str!("../demo-cellar/facts.jsonl")
            .lines()
            .zip(1..)
            .map(|(l, number)| {
                let (fact, body) = IncomingFact::from_json(l).unwrap();
                IncomingLine { number, fact, body }
            })
            .collect();
        let out = desk.record(lines, now, false)?;
        eprintln!("{} {:?} {:?}", out.taken.len(), out.flagged.first(), out.refused.first());
    }
    let s = Surroundings::read();
    let looks = Looks { theme: Theme::new(Palette::choose(None, s)), marks: Marks::choose(false, s) };
    let mut model = Model::new(Label::new("mk")?, looks, now);
    let mut hands = Hands::new(path.clone(), Access::ReadWrite, Moment::now);
    driver::run(&mut model, &mut hands, Some(path))?;
    Ok(())
}
