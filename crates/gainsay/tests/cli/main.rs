//! The program as its users meet it.
#![cfg(test)]

mod bad_input;
mod commands;
mod compare;
mod formats;
mod gear;
mod options;
mod patch;
mod run;
mod serve;
mod sheet;
