// The options that say what piece it is: a mounted sieve or cloth on a roll.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "command_line.hpp"
#include "sievecloth/result.hpp"
#include "sievecloth/sample.hpp"

namespace sievecloth::tool {

/// As typed; empty if not given.
struct PieceOptions {
  std::string frame, square, width, length;
};

/// `--frame`, `--square`, `--width` and `--length`: a round frame, a square one, or a roll, at most one of them.
std::vector<Option> piece_options(PieceOptions& options);

/// The frame or roll that the options name; none if they name none. Error: option_value (not a length with its unit).
Result<std::optional<Piece>> read_piece(const PieceOptions& options);

}  // namespace sievecloth::tool
