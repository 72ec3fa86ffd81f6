#!/bin/sh
# Carried out inside the root: the package with its locked wheels, the start-up system, the services.
set -eu
export LC_ALL=C.UTF-8 PIP_NO_CACHE_DIR=1 PIP_DISABLE_PIP_VERSION_CHECK=1
python3 -m venv /opt/burnin
/opt/burnin/bin/pip install --quiet --no-compile --no-index --find-links /build --require-hashes -r /build/lock.txt
/opt/burnin/bin/pip install --quiet --no-compile --no-index --no-deps /build/burnin-*.whl
/opt/burnin/bin/pip uninstall --quiet --yes pip setuptools 2>/dev/null || true
find /opt/burnin -name 'tests' -type d -path '*site-packages*' -prune -exec rm -rf {} +
python3 -m compileall -q --invalidation-mode unchecked-hash /opt/burnin/lib /usr/lib/python3 /usr/lib/python3.11 || true
locale-gen >/dev/null
mkdir -p /usr/share/burnin/keyboards
while read -r layout; do
	ckbcomp -layout "$layout" | gzip -9n >"/usr/share/burnin/keyboards/$layout.map.gz"
done </build/keyboards.txt
ln -sf /run/burnin/localtime /etc/localtime
echo burnin-bench >/etc/hostname
: >/etc/machine-id
rm -f /var/lib/dbus/machine-id
printf '' >/etc/fstab
systemctl --quiet enable burnin-desk@tty1 burnin-desk@ttyS0 burnin-journal burnin-unattended
systemctl --quiet mask getty@tty1 serial-getty@ttyS0 getty.target systemd-networkd-wait-online \
	apt-daily.timer apt-daily-upgrade.timer dpkg-db-backup.timer e2scrub_all.timer fstrim.timer
passwd --quiet --lock root || true
update-initramfs -u -k all >/dev/null
