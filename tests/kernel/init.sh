#!/bin/busybox sh
# The first program of the emulated bench: its root is the test machine's own, read-only, with an
# overlay in memory; /out is the one folder that the test machine reads.
export PATH=/bin
/bin/busybox --install -s /bin
mkdir -p /proc /sys /dev /under /over /new
mount -t proc proc /proc
mount -t sysfs sysfs /sys
mount -t devtmpfs devtmpfs /dev
while read -r module; do insmod "/modules/$module"; done < /modules/order
mount -t 9p -o trans=virtio,version=9p2000.L,cache=loose,msize=524288,ro root /under || poweroff -f
mount -t tmpfs -o mode=0755 tmpfs /over
mkdir /over/upper /over/work
mount -t overlay -o lowerdir=/under,upperdir=/over/upper,workdir=/over/work overlay /new || poweroff -f
for place in proc sys dev run out; do mkdir -p "/new/$place"; done
mount -t 9p -o trans=virtio,version=9p2000.L,cache=none,msize=131072 out /new/out || poweroff -f
mount -t tmpfs -o mode=0755 tmpfs /new/run
mount --move /proc /new/proc
mount --move /sys /new/sys
mount --move /dev /new/dev
mkdir -p /new/dev/shm
mount -t tmpfs tmpfs /new/dev/shm
mount -t debugfs debugfs /new/sys/kernel/debug
mount -t cgroup2 cgroup2 /new/sys/fs/cgroup
exec switch_root -c /dev/console /new /out/start
