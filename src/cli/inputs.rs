//! Which pages a command works on: files, folders, standard input, lists of paths.

use std::ffi::OsString;
use std::fs;
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};

use anyhow::bail;

/// The endings of picture files that a folder is searched for, without regard to case. Files named one by
/// one may be called anything.
const ENDINGS: [&str; 11] = ["bmp", "heic", "heif", "jpe", "jpeg", "jpg", "pdf", "png", "tif", "tiff", "webp"];

/// Those of them whose files may hold more than one page.
const MANY: [&str; 3] = ["pdf", "tif", "tiff"];

/// The largest file that is read, in bytes.
const LIMIT_BYTES: u64 = 1 << 30;

/// One file to read, or why there is none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Input {
    /// The path as given (a folder argument joined with the path below it); `-` for standard input.
    pub source: PathBuf,
    /// The path that its output files have below their folder, without an ending: below a folder argument
    /// the path from there, else the path as given without its root and without `..`.
    pub below: PathBuf,
    /// What was found out before reading, where it can't be read.
    pub trouble: Option<Trouble>,
}

/// Why an input gives no bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// The kind, in a word or two.
    pub kind: &'static str,
    /// What is wrong and what to do.
    pub message: String,
}

impl Input {
    fn file(source: PathBuf, from: &Path) -> Self {
        let below = source.strip_prefix(from).unwrap_or(&source);
        let below = below.components().filter(|part| matches!(part, Component::Normal(_))).collect::<PathBuf>();
        let below = if is_standard(&source) { "stdin".into() } else { below.with_extension("") };
        Self { source, below, trouble: None }
    }

    fn trouble(source: PathBuf, kind: &'static str, message: String) -> Self {
        Self { trouble: Some(Trouble { kind, message }), ..Self::file(source, Path::new("")) }
    }

    /// Whether it is standard input, which can be read only once.
    pub fn is_standard(&self) -> bool {
        is_standard(&self.source)
    }

    /// The bytes of the file.
    pub fn read(&self) -> Result<Vec<u8>, Trouble> {
        if let Some(trouble) = &self.trouble {
            return Err(trouble.clone());
        }
        let mut bytes = Vec::new();
        let read = if is_standard(&self.source) {
            io::stdin().lock().take(LIMIT_BYTES + 1).read_to_end(&mut bytes)
        } else {
            fs::File::open(&self.source).and_then(|file| file.take(LIMIT_BYTES + 1).read_to_end(&mut bytes))
        };
        read.map_err(|error| cannot_open(&error))?;
        if bytes.len() as u64 > LIMIT_BYTES {
            return Err(Trouble { kind: "too large", message: "the file is over 1 GiB: shrink or split it".into() });
        }
        Ok(bytes)
    }
}

/// What to do about a file that can't be opened.
fn cannot_open(error: &io::Error) -> Trouble {
    let (kind, message) = match error.kind() {
        io::ErrorKind::NotFound => ("missing", "there is no such file: check the path".into()),
        io::ErrorKind::PermissionDenied => ("not allowed", "you may not read this file: check its permissions".into()),
        _ => ("cannot open", format!("the file can't be read ({error}): check it and try again")),
    };
    Trouble { kind, message }
}

/// The inputs that `paths` and the paths listed in the file `list` name, in that order: a folder stands for
/// all its pages in name order, `-` for standard input.
///
/// # Errors
/// Where nothing is named, or standard input is asked for twice. A path or list that can't be read is no error
/// here: its input says so.
pub fn gather(paths: &[PathBuf], list: Option<&Path>) -> anyhow::Result<Vec<Input>> {
    if paths.is_empty() && list.is_none() {
        bail!("name at least one page: a file, a folder, - for standard input, or --from LIST");
    }
    let mut inputs = Vec::new();
    paths.iter().for_each(|path| add(path, &mut inputs));
    match list.map(|list| (list, read_list(list))) {
        Some((_, Ok(listed))) => listed.iter().for_each(|path| add(path, &mut inputs)),
        Some((list, Err(trouble))) => inputs.push(Input { trouble: Some(trouble), ..Input::file(list.into(), Path::new("")) }),
        None => {}
    }
    let pages = inputs.iter().map(|input| input.source.as_path());
    if pages.chain(list).filter(|path| is_standard(path)).count() > 1 {
        bail!("standard input (-) can be read only once: name it once");
    }
    Ok(inputs)
}

fn add(path: &Path, inputs: &mut Vec<Input>) {
    if is_standard(path) || !path.is_dir() {
        inputs.push(Input::file(path.into(), Path::new("")));
        return;
    }
    let before = inputs.len();
    walk(path, path, inputs);
    if inputs.len() == before {
        let message = format!("there is no page in this folder: it needs files that end in {}", ENDINGS.join(", "));
        inputs.push(Input::trouble(path.into(), "no pages", message));
    }
}

/// Adds the pages in `folder` and the folders below it, in name order. Hidden files are left out, and links
/// to folders aren't followed, since they may lead in circles.
fn walk(folder: &Path, from: &Path, inputs: &mut Vec<Input>) {
    let entries = fs::read_dir(folder).and_then(Iterator::collect::<io::Result<Vec<_>>>);
    let mut entries = match entries {
        Ok(entries) => entries,
        Err(error) => {
            let trouble = cannot_open(&error);
            inputs.push(Input { trouble: Some(trouble), ..Input::file(folder.into(), Path::new("")) });
            return;
        }
    };
    entries.sort_by_key(fs::DirEntry::file_name);
    for entry in entries {
        let path = entry.path();
        if entry.file_name().as_encoded_bytes().starts_with(b".") {
            continue;
        }
        if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            walk(&path, from, inputs);
        } else if has_picture_ending(&path) && !path.is_dir() {
            inputs.push(Input::file(path, from));
        }
    }
}

fn has_picture_ending(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
    ENDINGS.iter().any(|known| known.eq_ignore_ascii_case(ending))
}

/// Whether a file so named may hold more than one page.
pub fn may_hold_many(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
    !has_picture_ending(path) || MANY.iter().any(|known| known.eq_ignore_ascii_case(ending))
}

/// Whether a path stands for standard input.
fn is_standard(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// The paths in a list, one a line, unquoted; empty lines are passed over.
fn read_list(list: &Path) -> Result<Vec<PathBuf>, Trouble> {
    let mut bytes = Vec::new();
    let read =
        if is_standard(list) { io::stdin().lock().read_to_end(&mut bytes).map(drop) } else { fs::read(list).map(|read| bytes = read) };
    read.map_err(|error| cannot_open(&error))?;
    let lines = bytes.split(|&byte| byte == b'\n').map(|line| line.strip_suffix(b"\r").unwrap_or(line));
    let paths = lines.filter(|line| !line.is_empty()).map(|line| os_string(line).map(PathBuf::from));
    paths
        .collect::<Option<_>>()
        .ok_or_else(|| Trouble { kind: "not a list", message: "the list must be text in UTF-8, one path a line".into() })
}

#[cfg(unix)]
fn os_string(bytes: &[u8]) -> Option<OsString> {
    use std::os::unix::ffi::OsStringExt;
    Some(OsString::from_vec(bytes.to_vec()))
}

#[cfg(not(unix))]
fn os_string(bytes: &[u8]) -> Option<OsString> {
    String::from_utf8(bytes.to_vec()).ok().map(OsString::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn output_keeps_the_tree() {
        let cases = [
            ("pages/a.jpg", "", "pages/a"),
            ("/scans/b/a.jpg", "", "scans/b/a"),
            ("../up/./a.tar.png", "", "up/a.tar"),
            ("book/ch 1/a.jpg", "book", "ch 1/a"),
            ("-", "", "stdin"),
        ];
        for (source, from, below) in cases {
            assert_eq!(Input::file(source.into(), Path::new(from)).below, Path::new(below), "{source}");
        }
    }
}
