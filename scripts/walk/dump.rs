//! Writes what `fit.py` fits: for each puzzle of a table (81 characters first on each line) one JSON object with what is in view at
//! each moment of random orders, and the parts of effort of its easiest walk.
//!
//! `cargo run --release --example dump_walks -- ../shared/human_times/times.tsv ORDERS > moments.jsonl`

use gridlift::grid::Board;
use gridlift::prove::canonical;
use gridlift::walk::{Options, parts, race, walk};
use serde_json::json;

fn main() -> anyhow::Result<()> {
    let mut arguments = std::env::args().skip(1);
    let path = arguments.next().ok_or_else(|| anyhow::anyhow!("name a table of puzzles"))?;
    let most: usize = arguments.next().map_or(Ok(64), |text| text.parse())?;
    for line in std::fs::read_to_string(path)?.lines() {
        let Some(Ok(givens)) = line.get(..81).map(str::parse::<Board>) else { continue };
        let walk = walk(&givens, &Options::default());
        let orders = race::orders(&givens, most, 1);
        let moments = || orders.iter().flatten();
        let object = json!({
            "puzzle": givens.to_string(), "orders": orders.len(), "moments": moments().map(|moment| moment.view).collect::<Vec<_>>(),
            "crowd": moments().map(|moment| moment.crowd()).collect::<Vec<_>>(), "id": canonical(&givens).to_string(), "parts": parts(&walk), "effort": walk.effort(),
        });
        println!("{object}");
    }
    Ok(())
}
