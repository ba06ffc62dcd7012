//! Devices, their inputs and outputs, and the kinds of devices and sources that are built in.
//!
//! A device is read from the text of its file ([`Device::from_toml`]); what the file does not state is filled from the built-in
//! kind that it resembles ([`Catalogue`]). Nothing here opens a file.

pub mod booster;
pub mod cable;
mod catalogue;
pub mod connection;
mod device;
pub mod front_end;
pub mod microphone;
mod search;
pub mod source;

pub use booster::Booster;
pub use cable::Cable;
pub use catalogue::{Catalogue, Family};
pub use device::{Device, DeviceType, Model, USUAL_SOURCE, read_table, schema as device_schema};
pub use front_end::FrontEnd;
pub use microphone::Microphone;
pub use search::Search;
pub use source::{SourceKind, Spectrum};
