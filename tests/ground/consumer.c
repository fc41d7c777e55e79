/* Somebody else's program: uses the installed library by its pkg-config file, compiled as C and as C++. */
#include <stdio.h>

#ifdef __cplusplus
extern "C" {
#endif
#include "core/base/status.h"
#include "core/door/values.h"
#ifdef __cplusplus
}
#endif

int main(void) {
    up_values values;
    up_values_fallback(UP_FAMILY_CABLE, &values);
    if (values.family != UP_FAMILY_CABLE || !(values.motor_friction > 0)) {
        puts("the installed library gave no typical values");
        return 1;
    }
    puts(up_status_text(UP_OK));
    return 0;
}
