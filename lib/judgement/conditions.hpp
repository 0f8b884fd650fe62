// Rejects impossible inputs before anything is judged.
#pragma once

#include "sievecloth/assessment.hpp"

namespace sievecloth {

/// Requires a row of this edition, and a grade if and only if the edition has grades. Errors: null_argument, wrong_argument.
Result<void> check_specification(const Specification& specification);

/// Requires a sample made by `make_sample` for this size. Error: sample_mismatch.
Result<void> check_sample(const Specification& specification, const Sample& sample);

/// Requires possible conditions and guards, and a piece that contradicts neither itself nor its readings. Errors: option_value,
/// option_conflict, piece_contradicted.
Result<void> check_conditions(const Specification& specification, const Evidence& evidence, const Conditions& conditions);

}  // namespace sievecloth
