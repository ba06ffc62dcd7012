//! What the page does when it is asked too much, too slowly, wrongly or at random, and when it is stopped in the middle.
//!
//! Requests are written by hand, byte by byte (RFC 9112): a client library would refuse to send most of them.
#![cfg(test)]
#![cfg(unix)]

mod at_random;
mod killed;
mod many;
mod refused;
mod served;
mod slow;
mod unwritable;
