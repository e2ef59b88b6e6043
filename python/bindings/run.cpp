#include "run.h"

#include <chrono>
#include <thread>
#include <vector>

namespace mamelon::python {

namespace py = pybind11;

namespace {

struct Job {
  std::mutex mutex;
  std::condition_variable ended;
  bool done = false;
  std::exception_ptr error;
};

// Threads whose caller was interrupted.
struct Leftovers {
  std::mutex mutex;
  std::vector<std::thread> threads;
};
Leftovers& leftovers() {
  static Leftovers instance;
  return instance;
}

void wait_for_leftovers() {
  const py::gil_scoped_release release;
  std::vector<std::thread> threads;
  {
    const std::lock_guard lock(leftovers().mutex);
    threads.swap(leftovers().threads);
  }
  for (std::thread& thread : threads) thread.join();
}

bool on_main_thread() {
  const py::object main = py::module_::import("threading").attr("main_thread")();
  return py::cast<unsigned long>(main.attr("ident")) == PyThread_get_thread_ident();
}

}  // namespace

void run_watched(std::function<void()> work, const std::shared_ptr<std::atomic<bool>>& stopped) {
  if (!on_main_thread()) {
    const py::gil_scoped_release release;
    work();
    return;
  }
  const auto job = std::make_shared<Job>();
  std::thread thread([job, work = std::move(work)]() mutable {
    std::exception_ptr error;
    try {
      work();
    } catch (...) {
      error = std::current_exception();
    }
    work = nullptr;
    const std::lock_guard lock(job->mutex);
    job->error = error;
    job->done = true;
    job->ended.notify_all();
  });
  for (bool done = false; !done;) {
    {
      const py::gil_scoped_release release;
      std::unique_lock lock(job->mutex);
      done = job->ended.wait_for(lock, std::chrono::milliseconds(50), [&] { return job->done; });
    }
    if (!done && PyErr_CheckSignals() != 0) {
      if (stopped) *stopped = true;
      const std::lock_guard lock(leftovers().mutex);
      leftovers().threads.push_back(std::move(thread));
      throw py::error_already_set();
    }
  }
  thread.join();
  if (job->error) std::rethrow_exception(job->error);
}

void bind_run(py::module_& m) {
  m.def("_wait_for_leftovers", &wait_for_leftovers,
        "_wait_for_leftovers() -> None\n\nWaits for work whose caller was interrupted.");
  py::module_::import("atexit").attr("register")(m.attr("_wait_for_leftovers"));
}

}  // namespace mamelon::python
