// What a person at a terminal sees while work goes on, and how Ctrl-C reaches it.
#pragma once

#include "quantity/bands.h"

namespace circumfluence::program {

// A bar on standard error when that is a terminal, nothing otherwise; false once the user has pressed Ctrl-C.
quantity::Progress watched_progress();

// Ctrl-C ends the program at once until work is under way, and stops the work cleanly from then on.
void watch_interrupts();

}  // namespace circumfluence::program
