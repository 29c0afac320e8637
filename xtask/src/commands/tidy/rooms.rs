//! Arrows between the rooms of a crate, held against the table of those that are allowed.

use super::arrows::{Crate, TABLES};
use super::files::File;
use super::imports::Import;

/// One row of a table: a room and the rooms it may use.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Row<'a> {
    room: &'a str,
    may_use: Vec<&'a str>,
}

/// Files without a room, arrows that are not allowed, and tables that contradict themselves.
pub fn findings(krate: &Crate, files: &[File], imports: &[Import]) -> Vec<String> {
    if krate.rooms.trim().is_empty() {
        return Vec::new();
    }
    let rows = rows(krate.rooms);
    let mut findings = out_of_order(krate, &rows);
    let own = files
        .iter()
        .filter(|file| file.is_rust() && place(krate, &file.path).is_some());
    findings.extend(own.filter_map(|file| homeless(krate, &rows, file)));
    findings.extend(
        imports
            .iter()
            .filter_map(|import| forbidden(krate, &rows, import)),
    );
    findings
}

fn rows(table: &str) -> Vec<Row<'_>> {
    let lines = table.lines().filter_map(|line| line.split_once(':'));
    lines
        .map(|(room, may_use)| Row {
            room: room.trim(),
            may_use: may_use.split_whitespace().collect(),
        })
        .collect()
}

/// A row may name only rooms of the rows above it: then no circle of rooms can be allowed.
fn out_of_order(krate: &Crate, rows: &[Row<'_>]) -> Vec<String> {
    let mut findings = Vec::new();
    for (number, row) in rows.iter().enumerate() {
        let above = &rows[..number];
        let unknown = row.may_use.iter().filter(|used| {
            **used != "*"
                && !above
                    .iter()
                    .any(|row| contains(row.room, used) || contains(used, row.room))
        });
        findings.extend(unknown.map(|used| {
            format!(
                "{TABLES}: the table of {} lets `{}` use `{used}`, which stands in no row above it",
                krate.folder, row.room
            )
        }));
    }
    findings
}

/// Where a file lies in its crate: `measure/front/rate`, `units`, `editor/page`.
fn place<'a>(krate: &Crate, path: &'a str) -> Option<&'a str> {
    let place = path.strip_prefix(krate.folder)?.strip_prefix('/')?;
    let place = place.strip_suffix(".rs")?;
    Some(place.strip_suffix("/mod").unwrap_or(place))
}

/// True where `place` is the room or lies in it.
fn contains(room: &str, place: &str) -> bool {
    place
        .strip_prefix(room)
        .is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
}

/// The row of the smallest room around a place.
fn row<'a, 'b>(rows: &'a [Row<'b>], place: &str) -> Option<&'a Row<'b>> {
    rows.iter()
        .filter(|row| contains(row.room, place))
        .max_by_key(|row| row.room.len())
}

fn homeless(krate: &Crate, rows: &[Row<'_>], file: &File) -> Option<String> {
    let place = place(krate, &file.path)?;
    row(rows, place).is_none().then(|| {
        format!(
            "{}: stands in no room: move it into one, or give it a row in {TABLES}",
            file.path
        )
    })
}

fn forbidden(krate: &Crate, rows: &[Row<'_>], import: &Import) -> Option<String> {
    let from = row(rows, place(krate, &import.from)?)?;
    let target = place(krate, &import.to)?;
    let to = row(rows, target)?;
    let allowed = from.room == to.room
        || from
            .may_use
            .iter()
            .any(|used| *used == "*" || contains(used, target));
    (!allowed).then(|| {
        let may = match from.may_use.as_slice() {
            [] => "no other room".to_owned(),
            rooms => rooms.join(", "),
        };
        format!(
            "{}:{}: an arrow that points up: it uses `{}` of {}, but `{}` may use {may}: move what is shared into a room \
             below both, pass it as an argument, or, if it does point down, add `{}` to the row in {TABLES}",
            import.from, import.line, import.path, import.to, from.room, to.room
        )
    })
}
