//! A case and its gear as files.
//!
//! A case is a TOML file; the devices that it names are TOML files in a folder `gear` beside it, or built in. Reading goes
//! through [`Tree`], so that the embedded demo is read by the same code as a folder on disk.
//!
//! [`folder::Folder`] also writes, so that nothing is lost; [`edit`] changes the text of a file and keeps its comments;
//! [`adopt`] writes with it what a plan has found.

pub mod adopt;
pub mod demo;
pub mod edit;
pub mod folder;
pub mod library;
mod load;
pub mod question;
mod tree;
pub mod trial;

pub use load::{FileReport, LoadError, load, parse_device};
pub use tree::{Disk, Memory, Tree, TreeError};
