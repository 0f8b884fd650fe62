#include "piece_options.hpp"

#include "verbs.hpp"

namespace sievecloth::tool {

std::vector<Option> piece_options(PieceOptions& options) {
  return {{"--frame", &options.frame, "Nominal diameter of a round frame, such as 200mm or 8in"},
          {"--square", &options.square, "Side of a square frame", {.excludes = {"--frame"}}},
          {"--width", &options.width, "Width of a roll", {.needs = {"--length"}, .excludes = {"--frame", "--square"}}},
          {"--length", &options.length, "Length of a roll, such as 30m", {.needs = {"--width"}}}};
}

Result<std::optional<Piece>> read_piece(const PieceOptions& options) {
  const Result<std::optional<Length>> frame = length_option("--frame", options.frame);
  const Result<std::optional<Length>> square = length_option("--square", options.square);
  const Result<std::optional<Length>> width = length_option("--width", options.width);
  const Result<std::optional<Length>> length = length_option("--length", options.length);
  for (const auto* each : {&frame, &square, &width, &length}) {
    if (!each->ok()) return each->errors();
  }
  if (*frame) return std::optional(Piece{.frame = Frame{FrameShape::round, **frame}});
  if (*square) return std::optional(Piece{.frame = Frame{FrameShape::square, **square}});
  if (*width) return std::optional(Piece{.roll = Roll{**width, **length}});
  return std::optional<Piece>();
}

}  // namespace sievecloth::tool
