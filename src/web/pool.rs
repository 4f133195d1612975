//! A few threads that do the page's work, so that many tabs share the machine
//! without using it up.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{self, Receiver, SyncSender};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

/// Jobs that may wait; one more is turned away.
const WAITING: usize = 256;
/// Stack of a worker: curves and drawings nest deeper than requests do.
const STACK: usize = 16 * 1024 * 1024;

type Job = Box<dyn FnOnce() + Send>;

/// Why a job gave no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refused {
    /// Too many jobs wait already.
    Busy,
    /// The job failed on a fault of its own.
    Failed,
}

/// The workers.
#[derive(Clone, Debug)]
pub struct Pool {
    jobs: SyncSender<Job>,
}

impl Pool {
    /// Starts `workers` threads, one at least. They end with the last clone of
    /// the pool.
    ///
    /// # Errors
    /// What the system says when it gives no thread.
    pub fn new(workers: usize) -> std::io::Result<Self> {
        let (jobs, queue) = mpsc::sync_channel::<Job>(WAITING);
        let queue = Arc::new(Mutex::new(queue));
        for _ in 0..workers.max(1) {
            let queue = Arc::clone(&queue);
            thread::Builder::new().name("bench".into()).stack_size(STACK).spawn(move || work(&queue))?;
        }
        Ok(Self { jobs })
    }

    /// Runs `job` on a worker and waits for its answer.
    ///
    /// # Errors
    /// [`Refused`] when there is none.
    pub fn run<T: Send + 'static>(&self, job: impl FnOnce() -> T + Send + 'static) -> Result<T, Refused> {
        let (answer, wait) = mpsc::sync_channel(1);
        let job = Box::new(move || drop(answer.send(job())));
        self.jobs.try_send(job).map_err(|_| Refused::Busy)?;
        // The job dropped its end without an answer: it panicked.
        wait.recv().map_err(|_| Refused::Failed)
    }
}

fn work(queue: &Mutex<Receiver<Job>>) {
    loop {
        // The lock is held while waiting; taking a job is all that is done under it.
        let next = queue.lock().unwrap_or_else(PoisonError::into_inner).recv();
        let Ok(job) = next else { return };
        // A fault in one job must not take the worker with it.
        drop(catch_unwind(AssertUnwindSafe(job)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn jobs_run_and_answer() {
        let pool = Pool::new(2).unwrap();
        let sums: Vec<_> = (0..100).map(|i| pool.run(move || i + 1).unwrap()).collect();
        assert_eq!(sums, (1..=100).collect::<Vec<_>>(), "answers");
    }

    #[test]
    fn a_failing_job_leaves_the_worker() {
        let pool = Pool::new(1).unwrap();
        assert_eq!(pool.run(|| std::panic::resume_unwind(Box::new(()))), Err::<(), _>(Refused::Failed), "told");
        assert_eq!(pool.run(|| 7), Ok(7), "still working");
    }

    #[test]
    fn a_full_queue_turns_away() {
        let pool = Pool::new(1).unwrap();
        let ((started, begun), (open, gate)) = (mpsc::channel(), mpsc::channel::<()>());
        let blocks = Box::new(move || {
            started.send(()).unwrap();
            _ = gate.recv();
        });
        pool.jobs.try_send(blocks).unwrap();
        begun.recv().unwrap();
        for _ in 0..WAITING {
            pool.jobs.try_send(Box::new(|| ())).unwrap();
        }
        assert_eq!(pool.run(|| 1), Err(Refused::Busy), "one too many");
        drop(open);
    }
}
