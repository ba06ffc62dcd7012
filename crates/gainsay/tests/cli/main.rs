//! The program as its users meet it.
#![cfg(test)]

mod bad_input;
mod commands;
mod formats;
mod run;
