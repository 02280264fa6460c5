#include "quantity/bands.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

#include "quantity/error.h"

namespace circumfluence::quantity {
namespace {

struct Queue {
  std::atomic<int> next{0};
  std::atomic<bool> stopped{false};
  std::mutex mutex;
  std::exception_ptr problem;

  void fail(std::exception_ptr error) {
    const std::scoped_lock lock(mutex);
    if (!problem) problem = std::move(error);
    stopped = true;
  }
};

}  // namespace

Progress part(const Progress& whole, double from, double to) {
  if (!whole) return {};
  return [=](double share) { return whole(std::lerp(from, to, share)); };
}

int thread_count(const Bands& bands) {
  const int pieces = (bands.count + bands.band - 1) / std::max(bands.band, 1);
  const int wanted =
      bands.threads > 0 ? bands.threads : static_cast<int>(std::thread::hardware_concurrency());
  return std::max(1, std::min(wanted, pieces));
}

void for_bands(const Bands& bands, const std::function<void(int, int, int)>& work, const Progress& progress) {
  Queue queue;
  const auto run = [&](int thread) {
    try {
      while (!queue.stopped) {
        const int first = queue.next.fetch_add(bands.band);
        if (first >= bands.count) break;
        if (thread == 0 && progress && !progress(double(first) / bands.count)) throw Interrupted();
        work(first, std::min(first + bands.band, bands.count), thread);
      }
    } catch (...) {
      queue.fail(std::current_exception());
    }
  };
  std::vector<std::thread> helpers;
  for (int t = 1; t < thread_count(bands); ++t) helpers.emplace_back(run, t);
  run(0);
  for (std::thread& helper : helpers) helper.join();
  if (queue.problem) std::rethrow_exception(queue.problem);
  if (progress) progress(1.0);
}

}  // namespace circumfluence::quantity
