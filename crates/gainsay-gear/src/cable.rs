//! Cables.

use crate::connection::Connector;
use gainsay_units::{FaradsPerMetre, Metres, file_struct};

file_struct! {
    /// What is known of a cable.
    pub struct Cable {
        figures {
            /// Capacitance between the two legs (between core and screen of an unbalanced cable) for each metre.
            capacitance: FaradsPerMetre,
            /// Length.
            length: Metres,
        }
        fields {
            /// Connector at the end towards the source.
            from_connector: Connector,
            /// Connector at the other end.
            to_connector: Connector,
        }
    }
}
