// What nobody can mean is refused before anything is judged.
#pragma once

#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// A row of this edition, and a grade exactly where the edition has grades. Errors: null_argument, wrong_argument.
Result<void> check_specification(const Specification& specification);

/// Made by `make_sample` for this size. Error: sample_mismatch.
Result<void> check_sample(const Specification& specification, const Sample& sample);

/// Conditions and guards that can be, of a piece that does not contradict itself or its readings. Errors: option_value,
/// option_conflict, piece_contradicted.
Result<void> check_conditions(const Specification& specification, const Evidence& evidence, const Conditions& conditions);

/// The most full apertures that a frame can hold: all of its nominal size clear, the smallest mean aperture, the thinnest wire.
double most_apertures(const Frame& frame, const Row& row);

}  // namespace sievecloth
