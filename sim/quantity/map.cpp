#include "quantity/map.h"

#include <sys/mman.h>

#include <cstdlib>
#include <new>

namespace circumfluence::quantity {

std::shared_ptr<void> allocate_pages(size_t bytes) {
  constexpr size_t kHuge = size_t(2) << 20;
  const size_t alignment = bytes >= kHuge ? kHuge : 64;
  const size_t rounded = (bytes + alignment) / alignment * alignment;
  void* block = std::aligned_alloc(alignment, rounded);
  if (block == nullptr) throw std::bad_alloc();
  if (alignment == kHuge) madvise(block, rounded, MADV_HUGEPAGE);
  return {block, std::free};
}

}  // namespace circumfluence::quantity
