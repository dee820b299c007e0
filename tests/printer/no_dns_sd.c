/* Loaded before ippeveprinter: the calls by which it announces itself in the network, doing nothing. The test printer insists on a
 * daemon for DNS-SD, which a container has not; it is told that all went well, and is reached by its port alone. */

#include <stddef.h>

static int there;

void *avahi_threaded_poll_new(void) { return &there; }
void *avahi_threaded_poll_get(void *poll) { return poll; }
int avahi_threaded_poll_start(void *poll) { (void)poll; return 0; }
void avahi_threaded_poll_lock(void *poll) { (void)poll; }
void avahi_threaded_poll_unlock(void *poll) { (void)poll; }

void *avahi_client_new(void *poll, int flags, void *callback, void *data, int *error) {
    (void)poll, (void)flags, (void)callback, (void)data;
    if (error) *error = 0;
    return &there;
}
int avahi_client_errno(void *client) { (void)client; return 0; }
const char *avahi_client_get_host_name_fqdn(void *client) { (void)client; return "localhost"; }

void *avahi_entry_group_new(void *client, void *callback, void *data) {
    (void)client, (void)callback, (void)data;
    return &there;
}
int avahi_entry_group_add_service_strlst(void) { return 0; }
int avahi_entry_group_add_service_subtype(void) { return 0; }
int avahi_entry_group_commit(void *group) { (void)group; return 0; }
int avahi_entry_group_free(void *group) { (void)group; return 0; }

void *avahi_string_list_add_printf(void *list, const char *format, ...) { (void)list, (void)format; return &there; }
void avahi_string_list_free(void *list) { (void)list; }
