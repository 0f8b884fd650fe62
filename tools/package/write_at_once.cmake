# Writes PROGRAM anew, all at once. A linker and an installation write in pieces of a page or two, the page cache keeps them so, and
# every start maps them one by one: what `cp` wrote starts a sixth sooner. Where that fails the program stays as it is.
execute_process(COMMAND cp -p ${PROGRAM} ${PROGRAM}.new RESULT_VARIABLE failed ERROR_QUIET)
if(failed)
  file(REMOVE ${PROGRAM}.new)
else()
  file(RENAME ${PROGRAM}.new ${PROGRAM})
endif()
