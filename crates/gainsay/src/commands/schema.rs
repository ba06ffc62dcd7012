//! `gainsay schema`.

use crate::arguments::SchemaOf;
use crate::exit::{Exit, Failure};
use crate::output;

pub(crate) fn run(of: SchemaOf) -> Result<Exit, Failure> {
    let schema = match of {
        SchemaOf::Case => gainsay_plan::case::schema(),
        SchemaOf::Device => gainsay_gear::device_schema(),
    };
    let text = serde_json::to_string_pretty(&schema).map_err(|error| {
        Failure::Output(format!("the schema can't be written: {error}"), "report it".to_owned())
    })?;
    output::print(&text)?;
    Ok(Exit::Answered)
}
