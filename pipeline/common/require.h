// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <concepts>
#include <cstddef>
#include <stdexcept>
#include <string>
#include <string_view>
#include <type_traits>

namespace chalkfold {

/// A function was called with what its header rules out: a fault of the program, not of the user, a photo or a panel.
class PreconditionError : public std::logic_error {
 public:
  using std::logic_error::logic_error;
};

// Preconditions, checked in every build at the head of public functions. Each throws PreconditionError when it does not hold,
// "pipeline/geometry/polygon.cpp:71: count is 0, at least 1 needed": place, name, value and bound. When it holds it costs one comparison.

/// Where a call is written. In place of std::source_location, which the clang that reads this code does not have with GCC 12's library.
struct CallPlace {
  const char* file;
  unsigned line;

  /// As a default argument: the place of the call that it is left out of.
  static constexpr CallPlace here(const char* file = __builtin_FILE(), unsigned line = __builtin_LINE()) {
    return {file, line};
  }
};

namespace requirement {

/// What is told of a number: as %.9g, or all digits of a whole number.
std::string text_of(double value);
std::string text_of(long long value);
std::string text_of(unsigned long long value);

template <class Number>
std::string text(Number value) {
  if constexpr (std::floating_point<Number>)
    return text_of(static_cast<double>(value));
  else if constexpr (std::signed_integral<Number>)
    return text_of(static_cast<long long>(value));
  else
    return text_of(static_cast<unsigned long long>(value));
}

/// Throws; the file's name without the folders above the project.
[[noreturn]] void failed(const std::string& what, const CallPlace& where);

}  // namespace requirement

/// Anything that is no comparison; `what` says what is wrong: "edges are not end to end".
inline void require(bool holds, std::string_view what, const CallPlace& where = CallPlace::here()) {
  if (!holds) requirement::failed(std::string(what), where);
}

/// value >= least. Refuses what is not a number.
template <class Number>
void require_at_least(std::string_view name, Number value, std::type_identity_t<Number> least,
                      const CallPlace& where = CallPlace::here()) {
  if (value >= least) return;
  requirement::failed(
      std::string(name) + " is " + requirement::text(value) + ", at least " + requirement::text(least) + " needed",
      where);
}

/// value > bound. Refuses what is not a number.
template <class Number>
void require_above(std::string_view name, Number value, std::type_identity_t<Number> bound,
                   const CallPlace& where = CallPlace::here()) {
  if (value > bound) return;
  requirement::failed(
      std::string(name) + " is " + requirement::text(value) + ", more than " + requirement::text(bound) + " needed",
      where);
}

/// least <= value <= most. Refuses what is not a number.
template <class Number>
void require_within(std::string_view name, Number value, std::type_identity_t<Number> least,
                    std::type_identity_t<Number> most, const CallPlace& where = CallPlace::here()) {
  if (value >= least && value <= most) return;
  requirement::failed(std::string(name) + " is " + requirement::text(value) + ", " + requirement::text(least) + " to " +
                          requirement::text(most) + " needed",
                      where);
}

/// value == wanted: two lists that belong together.
template <class Number>
void require_equal(std::string_view name, Number value, std::type_identity_t<Number> wanted,
                   const CallPlace& where = CallPlace::here()) {
  if (value == wanted) return;
  requirement::failed(
      std::string(name) + " is " + requirement::text(value) + ", " + requirement::text(wanted) + " needed", where);
}

/// index < count.
inline void require_index(std::string_view name, std::size_t index, std::size_t count,
                          const CallPlace& where = CallPlace::here()) {
  if (index < count) return;
  requirement::failed(
      std::string(name) + " is " + requirement::text(index) + ", less than " + requirement::text(count) + " needed",
      where);
}

}  // namespace chalkfold
