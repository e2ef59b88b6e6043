#pragma once
// What std::ranges does by a member, for the page's standard library, which does not have it.

#include <algorithm>
#include <functional>
#include <iterator>

namespace mamelon::detail {

// The first of `list` whose `member` is `value`, or its end.
template <class List, class T, class Member>
auto find_by(List& list, const T& value, Member member) {
  return std::find_if(std::begin(list), std::end(list),
                      [&](const auto& one) { return std::invoke(member, one) == value; });
}

// Sorts from the least `member` up; equals keep their order.
template <class List, class Member>
void stable_sort_by(List& list, Member member) {
  std::stable_sort(std::begin(list), std::end(list), [&](const auto& a, const auto& b) {
    return std::invoke(member, a) < std::invoke(member, b);
  });
}

}  // namespace mamelon::detail
