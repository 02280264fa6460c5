// How long work reports and how it is stopped.
#pragma once

#include <functional>

namespace circumfluence::quantity {

// Called from the calling thread with the share done, 0 to 1; returning false stops the work, which then
// throws Interrupted and leaves nothing behind. An empty function is never called.
using Progress = std::function<bool(double share)>;

}  // namespace circumfluence::quantity
