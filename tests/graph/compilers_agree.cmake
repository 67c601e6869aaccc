# Builds print_digest with another compiler and compares what the two programs print.
# Needs: SOURCE, BINARY, OTHER (the other compiler), OWN (the program built by this one).
set(folder ${BINARY}/other_compiler)
execute_process(COMMAND ${CMAKE_COMMAND} -S ${SOURCE} -B ${folder} -G Ninja -DCMAKE_CXX_COMPILER=${OTHER}
    -DCMAKE_BUILD_TYPE=Release -DCMAKE_UNITY_BUILD=ON OUTPUT_QUIET COMMAND_ERROR_IS_FATAL ANY)
execute_process(COMMAND ${CMAKE_COMMAND} --build ${folder} --target print_digest -j 2
    OUTPUT_VARIABLE build_text RESULT_VARIABLE failed)
if(failed)
    message(FATAL_ERROR "${build_text}")
endif()
execute_process(COMMAND ${CMAKE_COMMAND} -E env find ${folder} -name print_digest -type f
    OUTPUT_VARIABLE theirs OUTPUT_STRIP_TRAILING_WHITESPACE COMMAND_ERROR_IS_FATAL ANY)
# that all widths and threads of this compiler agree is a test of its own
execute_process(COMMAND ${OWN} once OUTPUT_VARIABLE own_text COMMAND_ERROR_IS_FATAL ANY)
execute_process(COMMAND ${theirs} OUTPUT_VARIABLE their_text COMMAND_ERROR_IS_FATAL ANY)
message("this compiler:\n${own_text}\n${OTHER}:\n${their_text}")
if(NOT own_text STREQUAL their_text OR own_text STREQUAL "")
    message(FATAL_ERROR "the two compilers give other bits")
endif()
