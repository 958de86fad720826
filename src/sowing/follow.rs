//! What may follow in a bed when it comes free.
