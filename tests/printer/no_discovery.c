/* Stands in for the avahi client library where the test printer program runs without a discovery service: every call succeeds and
   does nothing. Loaded with LD_PRELOAD; the printer is reached by its address alone.
   Signatures: avahi-client's public headers; opaque pointers are all that is handed around. */
#include <stddef.h>

static int place;

void *avahi_threaded_poll_new(void) { return &place; }
void *avahi_threaded_poll_get(void *poll) { return poll; }
int avahi_threaded_poll_start(void *poll) { (void)poll; return 0; }
void avahi_threaded_poll_lock(void *poll) { (void)poll; }
void avahi_threaded_poll_unlock(void *poll) { (void)poll; }
void *avahi_client_new(const void *poll, int flags, void *callback, void *user, int *error) {
    (void)poll; (void)flags; (void)callback; (void)user;
    if (error) *error = 0;
    return &place;
}
int avahi_client_errno(void *client) { (void)client; return 0; }
const char *avahi_client_get_host_name_fqdn(void *client) { (void)client; return "localhost"; }
void *avahi_entry_group_new(void *client, void *callback, void *user) {
    (void)client; (void)callback; (void)user;
    return &place;
}
int avahi_entry_group_add_service_strlst(void *group, int interface, int protocol, int flags, const char *name, const char *type,
                                         const char *domain, const char *host, unsigned short port, void *text) {
    (void)group; (void)interface; (void)protocol; (void)flags; (void)name; (void)type; (void)domain; (void)host; (void)port; (void)text;
    return 0;
}
int avahi_entry_group_add_service_subtype(void *group, int interface, int protocol, int flags, const char *name, const char *type,
                                          const char *domain, const char *subtype) {
    (void)group; (void)interface; (void)protocol; (void)flags; (void)name; (void)type; (void)domain; (void)subtype;
    return 0;
}
int avahi_entry_group_commit(void *group) { (void)group; return 0; }
int avahi_entry_group_free(void *group) { (void)group; return 0; }
