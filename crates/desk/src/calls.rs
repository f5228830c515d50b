//! The calls of a page: what each does to the session, and what is answered.

use crate::answer::{self, Good};
use crate::ask::{
    Away, Begin, By, Far, Further, LetGo, Look, MoveLevel, New, News, Place, Put, Questions, Rest,
    Settle, Stand, Station, Suggest, Take, Typed, View,
};
use crate::files::Files;
use crate::piece::{self, Book};
use crate::session::{Refused, Session};
use crate::{begin, fresh, further, put};
use hyper::StatusCode;
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio::sync::watch;
use wetrun_answers::pieces::{self, PlanMove};
use wetrun_answers::{Grip, Move, Refusal, Review, Solved, Watch, grips_of};
use wetrun_site::{Outline, Site};
use wetrun_units::Length;

/// No hand moves anything so far, m.
const FARTHEST_M: f64 = 1e6;

/// One desk: the session and what was worked out last.
pub(crate) struct Desktop {
    files: Arc<dyn Files>,
    session: Mutex<Session>,
    /// The revision of the text, for whoever works on an old one.
    revision: AtomicU64,
    /// The last answer that was true of its text.
    good: Mutex<Option<Arc<Good>>>,
    /// How many pictures were drawn.
    pictures: AtomicU64,
    /// What was worked out at rest last.
    finished: Mutex<Option<Finished>>,
    news: watch::Sender<u64>,
}

/// A site with what takes longer, but for what opening its drains does.
#[derive(Clone)]
struct Finished {
    /// For which text, rain and tanks.
    asked: (u64, Option<f64>, Option<Stand>),
    /// What every answer of it says.
    answer: Value,
    solved: Arc<Solved>,
}

/// An answer to what nobody waits for any more.
fn stale() -> Reply {
    Reply::ok(&json!({ "stale": true }))
}

/// An answer on its way out.
pub(crate) struct Reply {
    pub(crate) status: StatusCode,
    pub(crate) json: String,
}

impl Reply {
    /// An answer that says nothing but how it went.
    pub(crate) fn bare(status: StatusCode) -> Self {
        Self { status, json: "{}\n".to_owned() }
    }

    fn ok(value: &Value) -> Self {
        Self { status: StatusCode::OK, json: value.to_string() }
    }
}

impl Desktop {
    /// Reads the file.
    ///
    /// # Errors
    /// In words, where it cannot be used at all.
    pub(crate) fn open(files: Arc<dyn Files>) -> Result<Self, String> {
        let session = Session::open(&*files)?;
        let revision = AtomicU64::new(session.revision());
        let (news, _) = watch::channel(session.news());
        Ok(Self {
            files,
            session: Mutex::new(session),
            revision,
            good: Mutex::new(None),
            pictures: AtomicU64::new(0),
            finished: Mutex::new(None),
            news,
        })
    }

    /// Looks whether the file changed, and keeps what is unsaved.
    pub(crate) fn look(&self) {
        let mut session = self.session();
        session.look(&*self.files, false);
        session.keep(&*self.files);
        self.tell(&session);
    }

    /// Returns once there is news that the page does not know.
    pub(crate) async fn news(&self, body: &[u8]) {
        let Ok(News { known }) = serde_json::from_slice(body) else { return };
        let mut news = self.news.subscribe();
        let _ = news.wait_for(|latest| *latest != known).await;
    }

    /// Answers a call; `waited` says whether somebody still waits for what takes long.
    pub(crate) fn call(
        &self,
        name: &str,
        body: &[u8],
        waited: &(dyn Fn() -> bool + Sync),
    ) -> Reply {
        match name {
            "open" => read(body, |Look { view }| self.opened(&view)),
            "look" => read(body, |Look { view }| self.shown(&view, true)),
            "news" => read(body, |News { .. }| Reply::ok(&answer::state(&self.session()))),
            "rest" => read(body, |rest: Rest| self.rest(&rest, waited)),
            "review" => read(body, |rest: Rest| self.review(&rest, waited)),
            "sheet" => read(body, |asked: Further| self.further(&asked, waited)),
            "move" => read(body, |asked: MoveLevel| self.moved(&asked)),
            "let-go" => read(body, |asked: LetGo| self.let_go(&asked)),
            "text" => read(body, |typed: Typed| {
                let by = |session: &mut Session| {
                    let base = typed.base.as_deref();
                    session.typed(&typed.gesture, typed.revision, base, &typed.text)
                };
                self.changed(&typed.view, true, by)
            }),
            "put" => read(body, |asked: Put| {
                let value = put::written(&asked.value);
                let put = |text: &str| put::put(text, &names(&asked.keys), &value);
                self.changed(&asked.view, true, |session| session.change(put))
            }),
            "take" => read(body, |asked: Take| {
                let take = |text: &str| put::without(text, &names(&asked.keys));
                self.changed(&asked.view, true, |session| session.change(take))
            }),
            "station" => read(body, |asked: Station| {
                let station = |text: &str| pieces::with_station(text, &asked.line).map_err(told);
                self.changed(&asked.view, true, |session| session.change(station))
            }),
            "place" => read(body, |asked: Place| {
                let by = match asked.by {
                    Far::M(by) if by.iter().all(|by| by.abs() < FARTHEST_M) => {
                        PlanMove::By(by.map(Length::m))
                    }
                    Far::M(_) => return Reply::bare(StatusCode::BAD_REQUEST),
                    Far::Steps(count) => PlanMove::Steps(count),
                };
                let moved = |text: &str| put::moved_in_plan(text, &asked.tag, by);
                self.changed(&asked.view, true, |session| session.change(moved))
            }),
            "questions" => read(body, |asked: Questions| Reply::ok(&begin::asked(&asked.answers))),
            "begin" => read(body, |asked: Begin| {
                let begun = |text: &str| match text.trim().is_empty() {
                    true => begin::begun(&asked.answers),
                    false => Err("the site is begun already".to_owned()),
                };
                self.changed(&asked.view, true, |session| session.change(begun))
            }),
            "suggest" => read(body, |asked: Suggest| self.suggested(&asked)),
            "new" => read(body, |asked: New| {
                let add = |text: &str| fresh::add(text, &asked.what, &asked.on, &asked.values);
                self.changed(&asked.view, true, |session| session.change(add))
            }),
            "away" => read(body, |asked: Away| self.away(&asked)),
            "undo" => read(body, |Look { view }| self.changed(&view, true, Session::undo)),
            "redo" => read(body, |Look { view }| self.changed(&view, true, Session::redo)),
            "save" => read(body, |Look { view }| {
                self.changed(&view, true, |session| session.save(&*self.files))
            }),
            "settle" => read(body, |asked: Settle| {
                let by = |session: &mut Session| {
                    session.settle(asked.choice, asked.revision, &asked.mine)
                };
                self.changed(&asked.view, true, by)
            }),
            _ => Reply::bare(StatusCode::NOT_FOUND),
        }
    }

    fn moved(&self, asked: &MoveLevel) -> Reply {
        let by = match asked.by {
            By::ToM(level_m) if level_m.abs() < FARTHEST_M => Move::To(Length::m(level_m)),
            By::ToM(_) => return Reply::bare(StatusCode::BAD_REQUEST),
            By::Steps(count) => Move::Steps(count),
            By::FineSteps(count) => Move::FineSteps(count),
        };
        let hold = |written: &Outline| hold(written, &asked.tag, &asked.key);
        self.changed(&asked.view, asked.done, |session| {
            session.move_level(&asked.gesture, hold, by)?;
            if asked.done {
                session.let_go();
            }
            Ok(())
        })
    }

    fn suggested(&self, asked: &Suggest) -> Reply {
        let text = Arc::clone(self.session().text());
        let on = asked.on.as_deref().unwrap_or_default();
        let told = fresh::suggest(&text, &asked.what, on);
        Reply::ok(&told.unwrap_or_else(|why| json!({ "refused": why })))
    }

    fn away(&self, asked: &Away) -> Reply {
        let [section, tag] = names(&asked.keys)[..] else {
            return Reply::bare(StatusCode::BAD_REQUEST);
        };
        if asked.ask {
            let text = Arc::clone(self.session().text());
            return Reply::ok(&match pieces::away(&text, section, tag) {
                Ok(away) => json!({ "goes": away.words, "still": away.still }),
                Err(why) => json!({ "refused": why.to_string() }),
            });
        }
        let away =
            |text: &str| pieces::away(text, section, tag).map(|away| away.text).map_err(told);
        self.changed(&asked.view, true, |session| session.change(away))
    }

    fn let_go(&self, asked: &LetGo) -> Reply {
        self.changed(&asked.view, true, |session| {
            match asked.give_up {
                true => session.give_up(&asked.gesture),
                false => session.let_go(),
            }
            Ok(())
        })
    }

    /// Changes the session and answers with what is true then; `settled`: the hand rests, so that
    /// the page wants the text too, and what is unsaved is kept.
    fn changed(
        &self,
        view: &View,
        settled: bool,
        change: impl FnOnce(&mut Session) -> Result<(), Refused>,
    ) -> Reply {
        let done = {
            let mut session = self.session();
            let done = change(&mut session);
            if settled {
                session.keep(&*self.files);
            }
            self.tell(&session);
            done
        };
        match done {
            Ok(()) => self.shown(view, settled),
            // A browser writes every other status to its console: what is refused is an answer too.
            Err(refused) => {
                let mut answer = self.quick(view, true);
                match refused {
                    Refused::Stale => answer["stale"] = json!(true),
                    Refused::Because(why) => answer["refused"] = json!(why),
                }
                Reply::ok(&answer)
            }
        }
    }

    /// All that a page needs at first.
    fn opened(&self, view: &View) -> Reply {
        let mut answer = self.quick(view, true);
        answer["catalogue"] = answer::catalogue();
        Reply::ok(&answer)
    }

    fn shown(&self, view: &View, with_text: bool) -> Reply {
        Reply::ok(&self.quick(view, with_text))
    }

    /// What is true at once: the sentence, the section in view, the margins, every error.
    fn quick(&self, view: &View, with_text: bool) -> Value {
        let (text, outline, mut answer, held) = {
            let mut session = self.session();
            let mut answer = answer::state(&session);
            if with_text {
                answer["text"] = json!(&**session.text());
                answer["changed"] = answer::changed(&session);
            }
            (Arc::clone(session.text()), session.written(), answer, session.is_held())
        };
        let name = self.files.name();
        // While a hand moves something the picture holds still.
        let before = self.good().clone();
        let held = before.as_ref().filter(|_| held).and_then(|good| good.held(view));
        // While a hand moves something only levels change, and those are told below.
        let written = outline.as_deref().filter(|_| with_text);
        if let Some(written) = written {
            answer["pieces"] = piece::pieces(written);
        }
        match answer::settle(&text, outline.as_deref(), &name, view) {
            Ok(asked) => {
                let number = self.pictures.fetch_add(1, Ordering::Relaxed) + 1;
                let good = Arc::new(Good::new(asked, view, held, number));
                good.quick(&mut answer);
                // Of another route, or for another screen, most of it is another.
                let near = |before: &Arc<Good>| {
                    view.has == Some(before.number()) && before.held(view).is_some()
                };
                let before = before.filter(near);
                good.drawn(&mut answer, before.as_deref());
                if with_text {
                    let (shown, moved) = (good.downspout_tag(), |tag: &str| good.moved(tag));
                    answer["piece"] = selected(written, view, shown, moved);
                } else {
                    answer["levels"] = good.levels(view);
                }
                *self.good() = Some(good);
            }
            Err(refusal) => {
                answer::refused(&mut answer, &refusal);
                if with_text {
                    answer["piece"] = selected(written, view, None, |_| Vec::new());
                }
                if let Some(good) = before.filter(|_| view.blank) {
                    answer["last"] = good.again(view).last();
                }
            }
        }
        answer
    }

    /// What takes longer, but for the review; called off where nobody waits, or the text is another.
    fn rest(&self, rest: &Rest, waited: &(dyn Fn() -> bool + Sync)) -> Reply {
        let wanted = || waited() && self.revision.load(Ordering::Relaxed) == rest.revision;
        match self.finished(rest, &wanted) {
            Ok(Some(Finished { mut answer, solved, .. })) => {
                answer::margins(&mut answer, &solved);
                answer::plan(&mut answer, &solved);
                if wanted() { Reply::ok(&answer) } else { stale() }
            }
            Ok(None) => stale(),
            Err(answer) => Reply::ok(&answer),
        }
    }

    /// The review, likewise: what opening the drains does takes longest of all.
    fn review(&self, rest: &Rest, waited: &(dyn Fn() -> bool + Sync)) -> Reply {
        let wanted = || waited() && self.revision.load(Ordering::Relaxed) == rest.revision;
        match self.finished(rest, &wanted) {
            Ok(Some(Finished { mut answer, solved, .. })) => {
                if !solved.open_drains(Watch { wanted: &wanted, ..Watch::default() }) {
                    return stale();
                }
                answer::review(&mut answer, &Review::new(&solved, false));
                if wanted() { Reply::ok(&answer) } else { stale() }
            }
            Ok(None) => stale(),
            Err(answer) => Reply::ok(&answer),
        }
    }

    /// The site with all that takes longer, worked out once for one text and storm, and what is said of
    /// it first; or the answer where there is none.
    fn finished(
        &self,
        rest: &Rest,
        wanted: &(dyn Fn() -> bool + Sync),
    ) -> Result<Option<Finished>, Value> {
        let asked = (rest.revision, rest.view.rain, rest.view.tanks);
        let known = self.finished.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some(known) = known.filter(|known| known.asked == asked) {
            return Ok(wanted().then_some(known));
        }
        let (text, written) = {
            let mut session = self.session();
            (Arc::clone(session.text()), session.written())
        };
        if !wanted() {
            return Ok(None);
        }
        let mut answer = json!({ "revision": rest.revision });
        let name = self.files.name();
        let Ok(settled) = answer::settle(&text, written.as_deref(), &name, &rest.view) else {
            return Ok(None);
        };
        answer["storm"] = settled.storm();
        let solved = match settled.settled.finish(wanted) {
            Ok(Some(solved)) => Arc::new(solved),
            Ok(None) => return Ok(None),
            Err(refusal) => {
                answer::refused(&mut answer, &refusal);
                return Err(answer);
            }
        };
        let finished = Finished { asked, answer, solved };
        *self.finished.lock().unwrap_or_else(PoisonError::into_inner) = Some(finished.clone());
        Ok(Some(finished))
    }

    /// A further sheet, called off likewise.
    fn further(&self, asked: &Further, waited: &(dyn Fn() -> bool + Sync)) -> Reply {
        let wanted = || waited() && self.revision.load(Ordering::Relaxed) == asked.revision;
        let text = Arc::clone(self.session().text());
        if !wanted() {
            return stale();
        }
        let site = match wetrun_answers::read(text.as_bytes(), &self.files.name()) {
            Ok(site) => site,
            Err(_) => return stale(),
        };
        Reply::ok(&match further::sheet(asked.which, site, &*self.files, &wanted) {
            Ok(Some(sheet)) => json!({ "revision": asked.revision, "sheet": sheet }),
            Ok(None) => return stale(),
            Err(why) => json!({ "revision": asked.revision, "refused": why.to_string() }),
        })
    }

    fn tell(&self, session: &Session) {
        self.revision.store(session.revision(), Ordering::Relaxed);
        self.news.send_if_modified(|news| {
            let other = *news != session.news();
            *news = session.news();
            other
        });
    }

    fn session(&self) -> MutexGuard<'_, Session> {
        self.session.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn good(&self) -> MutexGuard<'_, Option<Arc<Good>>> {
        self.good.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The piece that is selected, else the downspout in view, else the site.
fn selected(
    written: Option<&Outline>,
    view: &View,
    downspout: Option<&str>,
    moved: impl FnOnce(&str) -> Vec<String>,
) -> Value {
    let Some(written) = written else { return Value::Null };
    let keys = match (&view.piece, downspout) {
        (Some(keys), _) => names(keys),
        (None, Some(tag)) => vec!["downspouts", tag],
        (None, None) => Vec::new(),
    };
    let moved = keys.get(1).map(|tag| moved(tag)).unwrap_or_default();
    Book::new(written, &moved).piece(&keys)
}

fn names(keys: &[String]) -> Vec<&str> {
    keys.iter().map(String::as_str).collect()
}

fn told(why: Refusal) -> String {
    why.to_string()
}

/// The site of a text, and a level of it that a hand takes hold of.
fn hold(written: &Outline, tag: &str, key: &str) -> Result<(Site, Grip), String> {
    let site =
        written.site().map_err(|_| "the file has errors: mend them first, or undo".to_owned())?;
    let grip = grips_of(&site, tag).into_iter().find(|grip| grip.key == key);
    let grip = grip.ok_or_else(|| format!("there is no level `{key}` at `{tag}`"))?;
    Ok((site, grip))
}

/// Reads the body of a call.
fn read<'b, T: Deserialize<'b>>(body: &'b [u8], call: impl FnOnce(T) -> Reply) -> Reply {
    match serde_json::from_slice(body) {
        Ok(asked) => call(asked),
        Err(_) => Reply::bare(StatusCode::BAD_REQUEST),
    }
}
