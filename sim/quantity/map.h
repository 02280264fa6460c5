// A map over the developed surface: row-major [around][axial], contiguous, on huge pages where there are any.
#pragma once

#include <cstddef>
#include <memory>
#include <span>

namespace circumfluence::quantity {

// Uninitialised memory for at least `bytes`, 64-byte aligned; large blocks are advised to huge pages, since
// first touch of 4 KiB pages costs more than the arithmetic that fills them.
std::shared_ptr<void> allocate_pages(size_t bytes);

template <class T>
class Map {
 public:
  Map() = default;
  Map(int around, int axial)
      : around_(around), axial_(axial), data_(allocate_pages(sizeof(T) * size_t(around) * size_t(axial))) {}

  int around() const { return around_; }
  int axial() const { return axial_; }
  size_t size() const { return size_t(around_) * size_t(axial_); }
  bool empty() const { return size() == 0; }
  T* data() const { return static_cast<T*>(data_.get()); }
  std::span<T> row(int i) const { return {data() + size_t(i) * axial_, size_t(axial_)}; }
  std::span<T> cells() const { return {data(), size()}; }
  const std::shared_ptr<void>& owner() const { return data_; }

 private:
  int around_ = 0;
  int axial_ = 0;
  std::shared_ptr<void> data_;
};

}  // namespace circumfluence::quantity
