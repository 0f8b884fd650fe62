// What can still become of a criterion while the readings of a plan come in.
#pragma once

#include "judgement/criteria.hpp"

namespace sievecloth {

/// True if `step` is coarser than the edition permits; never if the edition sets no resolution.
bool is_coarse(const Case& the_case, Length step);

/// True if the plan has more apertures of the direction than were measured. Requires a plan.
bool more_to_come(const Case& the_case, Direction direction);

/// True if the mean, s or share of a direction cannot come back within its limit, whatever the remaining planned readings are.
/// Claimed only if the plan reaches the required count, so that the full sample will be decided. Ignores resolution. Requires the
/// limit of s and the rule of the share.
bool mean_is_unrecoverable(const Case& the_case, Direction direction);
bool spread_is_unrecoverable(const Case& the_case, Direction direction);
bool share_is_unrecoverable(const Case& the_case, Direction direction);

/// True if the direction is already rejected, and neither the remaining planned readings, nor their resolution if it turns out
/// coarse, nor a limit that does not count can reopen it. Without a plan only an aperture above w + X is final.
bool average_is_rejected(const Case& the_case, Direction direction);
bool maximum_is_rejected(const Case& the_case, Direction direction);
bool spread_is_rejected(const Case& the_case, Direction direction);
bool share_is_rejected(const Case& the_case, Direction direction);

}  // namespace sievecloth
