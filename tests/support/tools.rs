//! General tools from Debian, which what is printed is held against.

use std::path::Path;
use std::process::Command;

/// The packages that hold them.
const PACKAGES: &str = "libxml2-utils librsvg2-bin poppler-utils qpdf zbar-tools";

/// What a tool prints when it runs in a folder. `None`, said so, where it isn't installed; in CI that is a failure.
pub fn tool(name: &str, arguments: &[&str], folder: &Path) -> Option<String> {
    match Command::new(name).args(arguments).current_dir(folder).output() {
        Ok(output) => {
            assert!(output.status.success(), "{name} {arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
            Some(String::from_utf8_lossy(&output.stdout).into_owned())
        }
        Err(_) if std::env::var("CI").as_deref() == Ok("true") => panic!("{name} is needed: apt-get install {PACKAGES}"),
        Err(_) => {
            println!("skipped: {name} isn't installed (apt-get install {PACKAGES})");
            None
        }
    }
}
