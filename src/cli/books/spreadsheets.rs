//! `export --csv FOLDER`: the cellar as spreadsheets, a file each, written whole or not at all and for their owner's eyes only. Nothing is rounded
//! in them, and `import` takes them in again.

use std::fs;
use std::path::{Path, PathBuf};

use crate::cellar::core::day::Day;
use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::wine::Part;
use crate::cellar::jobs::floor::origin::OriginDeclared;
use crate::cli::arguments::{DoneArguments, DoneKind, Format, Reading};
use crate::cli::books::done;
use crate::cli::bottles::bottle;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::overwriting::free;
use crate::cli::floor::vessel::VesselSeen;
use crate::cli::floor::{lot, vessel};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::outgoing::Manner;
use crate::desk::Desk;
use crate::log::{ThrowAway, write_private};

/// What a list of vessels tells that somebody said of them, and what lies in them; the rest is worked out.
const OF_VESSELS: [&str; 20] = [
    "vessel",
    "type",
    "place",
    "lot",
    "capacity_ul",
    "volume_ul",
    "shape",
    "bilge_mm",
    "head_mm",
    "length_mm",
    "cooper",
    "forest",
    "grain",
    "seasoning_months",
    "toast",
    "heads_toasted",
    "made",
    "price",
    "fills",
    "stained",
];

/// A file: its name, and what stands in it.
type Written = (&'static str, Vec<u8>);

impl Counter<'_, '_> {
    /// Writes the spreadsheets of a cellar into a folder.
    pub(in crate::cli) fn export_spreadsheets(&mut self, cellar: &Path, folder: &Path, overwrite: bool) -> Outcome {
        if !overwrite {
            free(folder)?;
        }
        let shown = harmless(&folder.to_string_lossy());
        self.look_into(cellar, Reading::now(Format::Table), |desk, on, page| {
            let files = files(desk, on)?;
            put(folder, &files)
                .map_err(|why| Complaint::Refused(format!("{shown} cannot be written: {why}. Nothing was changed.")))?;
            let names: Vec<&str> = files.iter().map(|(name, _)| *name).collect();
            page.line(&format!("In {shown} are now {}", names.join(", ")))
        })
    }
}

fn files(desk: &Desk, on: Moment) -> Outcome<Vec<Written>> {
    let state = desk.state();
    let mut columns = vessel::columns();
    columns.retain(|column| column.name.is_some_and(|name| OF_VESSELS.contains(&name)));
    for column in &mut columns {
        match column.name {
            // A list of barrels that comes in has one volume, and that is what a barrel can hold …
            Some("volume_ul") => column.name = Some("holds_ul"),
            // … and how often it was filled before the wine came in that lies there.
            Some("fills") => {
                column.name = Some("earlier_fills");
                column.cell =
                    |it| (it.vessel.fills - u32::from(!it.vessel.wine.is_empty()).min(it.vessel.fills)).into();
            }
            _ => {}
        }
    }
    let vessels = vessel::all(state, on, false);
    let mut files = vec![
        ("vessels.csv", written(&columns, &vessels)?),
        ("wine.csv", written(&lying_columns(), &lying(&vessels))?),
        ("lots.csv", written(&lot::columns(), &lot::all(state, on))?),
        ("bottles.csv", written(&bottle::columns(), &bottle::all(state, on))?),
    ];
    for kind in DoneKind::ALL {
        let done = done::all(desk, kind, &DoneArguments::default(), on)?;
        files.push((kind.file(), written(&done::columns(kind, None), &done)?));
    }
    Ok(files)
}

/// Wine of one origin in one vessel: what lies there of several stands in as many lines.
type Lying<'v, 's> = (&'v VesselSeen<'s>, Part);

fn lying<'v, 's>(vessels: &'v [VesselSeen<'s>]) -> Vec<Lying<'v, 's>> {
    vessels.iter().flat_map(|seen| seen.vessel.wine.parts().iter().map(move |part| (seen, *part))).collect()
}

/// The columns of a list of wine, as one that comes in has them.
fn lying_columns<'v, 's>() -> Vec<Column<Lying<'v, 's>>> {
    fn origin<'s>((seen, part): &Lying<'_, 's>) -> Option<&'s OriginDeclared> {
        part.origin.map(|id| &seen.state.origins.get(id).0)
    }
    vec![
        Column::program("vessel", |(seen, _)| (&seen.vessel.label).into()),
        Column::program("lot", |(seen, _)| seen.lot(seen.vessel.lot)),
        Column::program("holds_ul", |(_, part): &Lying<'_, '_>| part.volume.into()),
        Column::program("origin", |it| origin(it).map(|origin| &origin.origin).into()),
        Column::program("block", |it| origin(it).map(|origin| &origin.block).into()),
        Column::program("variety", |it| origin(it).map(|origin| &origin.variety).into()),
        Column::program("vintage", |it| origin(it).map(|origin| u32::from(origin.vintage)).into()),
        Column::program("appellation", |it| origin(it).map(|origin| &origin.appellation).into()),
        Column::program("colour", |it| Cell::word(&origin(it).map(|origin| origin.colour))),
        Column::program("owner", |it| origin(it).and_then(|origin| origin.owner.as_ref()).into()),
        Column::program("topped", |(seen, _)| seen.vessel.last_topped.map(|at| Day::of(at.date())).into()),
    ]
}

fn written<T>(columns: &[Column<T>], rows: &[T]) -> Outcome<Vec<u8>> {
    let mut text = Vec::new();
    Manner::customary().exact().write(&mut text, columns, rows)?;
    Ok(text)
}

/// Puts the files into a folder of that name: a new one, which takes the place of one that holds nothing but such files.
fn put(folder: &Path, files: &[Written]) -> Result<(), String> {
    let told = |error: std::io::Error| error.to_string();
    let above = folder.parent().filter(|above| !above.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let made = ThrowAway::within(above, ".barrelwalk").map_err(told)?;
    let (new, old) = (made.path().join("new"), made.path().join("old"));
    make(&new).map_err(told)?;
    for (name, text) in files {
        write_private(&new.join(name), text, false).map_err(|error| error.to_string())?;
    }
    if fs::symlink_metadata(folder).is_ok() {
        is_ours(folder, files)?;
        fs::rename(folder, &old).map_err(told)?;
    }
    fs::rename(&new, folder).map_err(|error| {
        // What was there comes back.
        let _ = fs::rename(&old, folder);
        error.to_string()
    })
}

fn is_ours(folder: &Path, files: &[Written]) -> Result<(), String> {
    let is_folder = fs::symlink_metadata(folder).is_ok_and(|about| about.is_dir());
    if !is_folder {
        return Err("it is no folder".to_owned());
    }
    let entries: Vec<PathBuf> =
        fs::read_dir(folder).map_err(|error| error.to_string())?.flatten().map(|entry| entry.path()).collect();
    let other =
        entries.iter().find(|path| !files.iter().any(|(name, _)| path.file_name().is_some_and(|it| it == *name)));
    other.map_or(Ok(()), |other| {
        let other = harmless(&other.file_name().unwrap_or_default().to_string_lossy());
        Err(format!("{other} stands in it, which is none of these spreadsheets"))
    })
}

fn make(folder: &Path) -> std::io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    builder.create(folder)
}

#[cfg(test)]
mod tests;
