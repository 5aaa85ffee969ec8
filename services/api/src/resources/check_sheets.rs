//! Check sheets, and the check points they are made of.

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::conditional::Tag;
use crate::http::operation::Operation;
use clerk::sheets;
use contract::{AnswerWord, CheckPoint, CheckSheet, NewCheckSheet, VersionAsked};
use model::{Code, Scope, SheetPoint};

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<CheckSheet>(Scope::Read, "list_check_sheets", "/check-sheets")
            .says("List check sheets", "Check sheets in their newest versions, in order of codes.")
            .does(list),
        Operation::create::<NewCheckSheet, CheckSheet>(Scope::Manage, "publish_check_sheet", "/check-sheets")
            .says("Publish a check sheet", "Under a code that is there already it becomes the next version.")
            .does(publish),
        Operation::get::<CheckSheet>(Scope::Read, "read_check_sheet", "/check-sheets/{check_sheet}")
            .says("Read a check sheet", "Its newest version, or any other.")
            .filtered::<VersionAsked>()
            .does(read),
        Operation::list::<CheckPoint>(Scope::Read, "list_check_points", "/check-points")
            .says("List check points", "What can be measured on a vehicle, where, and in which units.")
            .does(list_points),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging::<Code>().await?;
    let mut reading = call.reading().await?;
    let after = paging.after();
    let rows = store::sheets::page(&mut reading.conn(), call.fleet(), after.as_ref(), paging.fetch()).await?;
    paging.answer(rows, |sheet| sheet.code.clone(), CheckSheet::from)
}

async fn publish(call: Call) -> Outcome {
    let NewCheckSheet { code, title, points } = call.written()?;
    let points = points.0.into_iter().map(SheetPoint::from).collect();
    let mut deed = call.begin().await?;
    let sheet = sheets::publish(&mut deed.act, code, title.0, points).await?;
    let place = call.place(format!("check-sheets/{}?version={}", sheet.code, sheet.version));
    deed.made(place, Tag::version(sheet.version), &CheckSheet::from(sheet)).await
}

async fn read(call: Call) -> Outcome {
    let VersionAsked { version } = call.asked()?;
    let code = there(Code::new(call.parameter("check_sheet")).ok())?;
    let mut reading = call.reading().await?;
    let found = match version {
        Some(version) => store::sheets::find(&mut reading.conn(), call.fleet(), &code, version.0).await?,
        None => store::sheets::newest(&mut reading.conn(), call.fleet(), &code).await?,
    };
    let sheet = there(found)?;
    Ok(Answer::versioned(sheet.version, &CheckSheet::from(sheet))?)
}

async fn list_points(call: Call) -> Outcome {
    let paging = call.paging::<String>().await?;
    let after = paging.after().unwrap_or_default();
    let mut points: Vec<&engine::CheckPoint> =
        engine::check_points().filter(|point| point.code > after.as_str()).collect();
    points.truncate(usize::try_from(paging.fetch()).unwrap_or(0));
    let told = |point: &engine::CheckPoint| CheckPoint {
        code: point.code.to_owned(),
        title: point.title.to_owned(),
        places: point.places.to_vec(),
        zones: point.zones.to_vec(),
        units: point.units.to_vec(),
        answers: point.answers.iter().map(told_answer).collect(),
        least: point.least.into(),
        most: point.most.into(),
    };
    paging.answer(points, |point| point.code.to_owned(), told)
}

fn told_answer(answer: &engine::Answer) -> AnswerWord {
    AnswerWord { word: answer.word.to_owned(), title: answer.title.to_owned(), grade: answer.grade }
}
