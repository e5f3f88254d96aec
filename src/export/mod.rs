//! The JSON forms and their schemas, one file each.

mod convert;
pub mod page;
pub mod rehearsal;
mod together;
pub mod vet;
pub mod walk;
