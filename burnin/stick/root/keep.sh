#!/bin/sh
# The journal, in which runs are recorded, and the records partition, to which they are copied.
# The journal is ext4: what was synced to it outlives a cut of the power. The records partition is
# mounted only while something is copied, so that a cut at any other time cannot harm it.
set -eu
journal=/srv/burnin records=/media/records

word() {
	for x in $(cat /proc/cmdline); do
		case $x in burnin."$1"=*) echo "${x#*=}" ;; esac
	done
}
device() { blkid -t "PARTUUID=$1" -o device | head -n 1; }

case $1 in
begin)
	mkdir -p $journal $records /run/burnin
	of_journal=$(device "$(word journal)") of_records=$(device "$(word records)")
	e2fsck -p "$of_journal" || [ $? -le 1 ]
	mount -o noatime,nodev,nosuid "$of_journal" $journal
	fsck.fat -a "$of_records" >/run/burnin/fsck-records || [ $? -le 1 ]
	mkdir -p $journal/results
	"$0" open
	for file in bench.toml unattended.toml; do
		[ -f $records/$file ] && cp $records/$file /run/burnin/$file
	done
	added=
	for sum in $records/packages/*.sha256; do
		[ -f "$sum" ] || continue
		package=${sum%.sha256}
		if (cd $records/packages && sha256sum --status -c "$sum") && dpkg-deb -x "$package" /; then
			basename "$package" >>/run/burnin/added
			added=yes
		else
			basename "$package" >>/run/burnin/refused
		fi
	done
	"$0" close
	[ -z "$added" ] || depmod -a
	;;
open) mount -t vfat -o noatime,nodev,nosuid,noexec,utf8,shortname=mixed,umask=077 \
	"$(device "$(word records)")" $records ;;
close)
	sync -f $records
	umount $records
	;;
end)
	mountpoint -q $records && umount $records
	umount $journal
	;;
esac
