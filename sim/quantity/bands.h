// Work in bands of consecutive rows, handed out in order to a few threads; how long work reports and how it is stopped.
#pragma once

#include <functional>

namespace circumfluence::quantity {

// Called from the calling thread with the share done, 0 to 1; returning false stops the work, which then
// throws Interrupted and leaves nothing behind. An empty function is never called.
using Progress = std::function<bool(double share)>;

// What a part of long work reports to, as a whole of its own: its 0 to 1 is `from` to `to` of `whole`. Empty where that is.
Progress part(const Progress& whole, double from, double to);

struct Bands {
  int count = 0;    // rows in all
  int band = 16;    // rows a piece
  int threads = 0;  // 0: as many as the machine has
};

// The number of threads `bands` will run on.
int thread_count(const Bands& bands);

// Calls work(first, last, thread) for [first, last) until all rows are done; thread is 0 on the caller.
// The caller works too and reports between bands. The first exception of any band is rethrown here after
// all threads have ended; Interrupted when `progress` says stop.
void for_bands(const Bands& bands, const std::function<void(int first, int last, int thread)>& work,
               const Progress& progress = {});

}  // namespace circumfluence::quantity
