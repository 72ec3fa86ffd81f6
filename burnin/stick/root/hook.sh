#!/bin/sh
# Puts into the small start-up system what checks the root.
case $1 in prereqs) exit 0 ;; esac
. /usr/share/initramfs-tools/hook-functions
copy_exec /usr/sbin/veritysetup /sbin
