#include "program/terminal.h"

#include <fmt/format.h>
#include <unistd.h>

#include <atomic>
#include <csignal>
#include <cstdio>
#include <string>

#include "program/commands.h"

namespace circumfluence::program {
namespace {

std::atomic<bool> working{false}, stop{false};

extern "C" void on_interrupt(int) {
  if (!working || stop) _exit(Exit::interrupted);  // nothing to tidy yet, or the user insists
  stop = true;
}

void draw_bar(double share) {
  constexpr int kWidth = 40;
  const int full = static_cast<int>(share * kWidth);
  fmt::print(stderr, "\r[{:=<{}}{: <{}}] {:3.0f} %", "", full, "", kWidth - full, 100 * share);
  if (share >= 1) fmt::print(stderr, "\r\033[K");
  std::fflush(stderr);
}

}  // namespace

void watch_interrupts() {
  std::signal(SIGINT, on_interrupt);
}

quantity::Progress watched_progress() {
  const bool terminal = isatty(STDERR_FILENO) == 1;
  return [terminal, last = -1](double share) mutable {
    working = true;  // from now on a file may be under way
    const int now = static_cast<int>(share * 200);
    if (terminal && now != last) draw_bar(share);
    last = now;
    if (stop && terminal) fmt::print(stderr, "\r\033[K");
    return !stop;
  };
}

}  // namespace circumfluence::program
