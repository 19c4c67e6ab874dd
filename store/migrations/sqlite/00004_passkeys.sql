-- +goose Up
create table passkeys (
  id text primary key,
  account text not null,
  name text not null,
  credential text not null,
  made text not null,
  used text not null
);
create index passkeys_account on passkeys (account);

-- +goose Down
drop table passkeys;
