#pragma once
/// @file
/// The one exception family of the library.

#include <stdexcept>
#include <string>
#include <string_view>

namespace mamelon {

/// `text` with control characters and bytes that are not UTF-8 written as `\xNN`, so that what a
/// damaged file contains can be quoted in a message. Line feeds count as control characters.
[[nodiscard]] std::string printable(std::string_view text);

/// What went wrong, in the terms a caller can act on. The command line turns each into its own
/// exit code and Python into its own subclass of `mamelon.Error`.
enum class ErrorKind {
  argument,  ///< wrong use of a function or option
  data,      ///< a malformed file or document
  capture,   ///< a readable photo that cannot be measured
  model,     ///< outside the domain of a physical model
  io,        ///< the system could not read or write
  stopped,   ///< the caller asked the work to stop
};

/// Base of everything the library throws. The message is one sentence: what is wrong, where
/// (file, line, field), and what would be right. It is kept `printable`.
class Error : public std::runtime_error {
 public:
  /// With its kind and one clear sentence.
  Error(ErrorKind kind, const std::string& sentence)
      : std::runtime_error(printable(sentence)), kind_(kind) {}
  /// Which of the family.
  [[nodiscard]] ErrorKind kind() const noexcept { return kind_; }

 private:
  ErrorKind kind_;
};

/// A wrong argument or option: what was asked for makes no sense.
class ArgumentError : public Error {
 public:
  /// With one clear sentence.
  explicit ArgumentError(const std::string& sentence) : Error(ErrorKind::argument, sentence) {}
};

/// A file or document that is not what it should be; names file, line or place.
class DataError : public Error {
 public:
  /// With one clear sentence.
  explicit DataError(const std::string& sentence) : Error(ErrorKind::data, sentence) {}
};

/// A photo that is readable but of no use for measuring, with the remedy.
class CaptureError : public Error {
 public:
  /// With one clear sentence.
  explicit CaptureError(const std::string& sentence) : Error(ErrorKind::capture, sentence) {}
};

/// What lies outside the model's domain, such as a depth no stack fills.
class ModelError : public Error {
 public:
  /// With one clear sentence.
  explicit ModelError(const std::string& sentence) : Error(ErrorKind::model, sentence) {}
};

/// A file that cannot be read or written.
class IoError : public Error {
 public:
  /// With one clear sentence.
  explicit IoError(const std::string& sentence) : Error(ErrorKind::io, sentence) {}
};

/// Work that was asked to stop.
class StoppedError : public Error {
 public:
  /// With one clear sentence.
  explicit StoppedError(const std::string& sentence) : Error(ErrorKind::stopped, sentence) {}
};

}  // namespace mamelon
