//! The fleet itself.

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use contract::Fleet;
use model::Scope;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::get::<Fleet>(Scope::Read, "read_fleet", "")
            .says("Read the fleet", "The fleet that the access key opens.")
            .does(read),
    ]
}

async fn read(call: Call) -> Outcome {
    let mut reading = call.reading().await?;
    let fleet = there(store::fleets::find(&mut reading.conn(), call.fleet()).await?)?;
    Ok(Answer::hashed(&Fleet::from(fleet))?)
}
